// A hand scanner types like a keyboard, faster than a person, and ends with Enter. Where no field has the focus, what
// it types is looked up like a search, or sent by the form [data-scanned] where the page has one. In a field it is left
// alone: the form sends it.
"use strict";

(() => {
  const QUICK = 100;
  const SHORTEST = 7;
  const find = document.currentScript.dataset.find;
  let typed = "";
  let last = 0;

  const elsewhere = (target) => target instanceof Element && target.closest("input, select, textarea, [contenteditable]");

  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || elsewhere(event.target)) {
      typed = "";
      return;
    }
    const quick = event.timeStamp - last < QUICK;
    last = event.timeStamp;
    if (event.key === "Enter") {
      if (quick && typed.length >= SHORTEST) {
        event.preventDefault();
        const form = document.querySelector("form[data-scanned]");
        if (form) {
          form.querySelector("input[type=text]").value = typed;
          form.requestSubmit();
        } else {
          window.location.assign(`${find}?text=${encodeURIComponent(typed)}`);
        }
      }
      typed = "";
    } else if (event.key.length === 1) {
      typed = quick ? typed + event.key : event.key;
    }
  });
})();
