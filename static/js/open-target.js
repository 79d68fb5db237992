// A link to a part of the page opens the fold in it (details [data-open-target]): who goes there wants to see it.
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
