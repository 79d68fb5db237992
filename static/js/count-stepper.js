// Fewer and more for a number: buttons [data-step="-1"] and [data-step="1"] beside an input, in [data-stepper].
(() => {
  for (const stepper of document.querySelectorAll("[data-stepper]")) {
    const number = stepper.querySelector("input");
    for (const button of stepper.querySelectorAll("[data-step]")) {
      button.hidden = false;
      button.addEventListener("click", () => {
        const wanted = (Number.parseInt(number.value, 10) || 0) + Number(button.dataset.step);
        number.value = Math.min(Number(number.max), Math.max(Number(number.min), wanted));
        number.dispatchEvent(new Event("input", { bubbles: true }));
      });
    }
  }
})();
