// Opens details [data-open-wide] where the screen has room for them; on a phone they stay folded until touched.
// Details that were added later are opened too, once: those closed by hand stay closed.
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
