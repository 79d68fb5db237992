// Opens details [data-open-wide] where the screen has room for them; on a phone they stay folded until touched.
(() => {
  if (!window.matchMedia("(min-width: 60rem)").matches) return;
  for (const details of document.querySelectorAll("details[data-open-wide]")) details.open = true;
})();
