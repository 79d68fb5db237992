// Opens details [data-open-wide] where the screen has room for them; on a phone they stay folded until touched.
// What came onto the page later is opened too, once: a fold that was closed by hand stays closed.
(() => {
  if (!window.matchMedia("(min-width: 60rem)").matches) return;
  const seen = new Set();
  const open = () => {
    for (const details of document.querySelectorAll("details[data-open-wide]")) {
      const known = details.id || details;
      if (!seen.has(known)) details.open = true;
      seen.add(known);
    }
  };
  open();
  new MutationObserver(open).observe(document.body, { childList: true, subtree: true });
})();
