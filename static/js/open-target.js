// A link to a part of the page opens the details [data-open-target] in it.
(() => {
  const open = () => {
    const target = location.hash && document.getElementById(location.hash.slice(1));
    const fold = target && target.querySelector("details[data-open-target]");
    if (!fold) return;
    fold.open = true;
    target.scrollIntoView();
  };
  window.addEventListener("hashchange", open);
  open();
})();
