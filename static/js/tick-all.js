// Ticks all or none of the boxes with the same name: a box [data-tick-all="name"], shown only where it works.
(() => {
  for (const all of document.querySelectorAll("[data-tick-all]")) {
    const boxes = [...all.form.querySelectorAll(`input[type=checkbox][name="${all.dataset.tickAll}"]`)];
    const counted = document.querySelector("[data-ticked]");
    const show = () => {
      const ticked = boxes.filter((box) => box.checked).length;
      all.checked = ticked === boxes.length;
      all.indeterminate = ticked > 0 && ticked < boxes.length;
      if (counted) counted.textContent = `${ticked} of ${boxes.length} ticked`;
    };
    all.closest("[hidden]")?.removeAttribute("hidden");
    all.addEventListener("change", () => {
      for (const box of boxes) box.checked = all.checked;
      show();
    });
    for (const box of boxes) box.addEventListener("change", show);
    show();
  }
})();
