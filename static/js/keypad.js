// The keypad for sizes: big keys for digits and the fractions on a ruler.
// Attached to [data-keypad]; writes into the inputs of its form that carry [data-size].
// Without it the phone's own keyboard types into the same inputs.
(() => {
  for (const keypad of document.querySelectorAll("[data-keypad]")) {
    const sizes = [...keypad.closest("form").querySelectorAll("input[data-size]")];
    if (!sizes.length) continue;
    let active;

    const choose = (size) => {
      active = size;
      for (const each of sizes) each.toggleAttribute("data-active", each === size);
      keypad.querySelector("[data-keypad-for]").textContent = size.dataset.size;
    };
    const write = (text) => {
      active.value = text;
      active.dispatchEvent(new Event("input", { bubbles: true }));
    };
    const next = () => choose(sizes[(sizes.indexOf(active) + 1) % sizes.length]);

    const press = (key) => {
      const typed = active.value;
      // A fraction came with one key and goes with one.
      if (key === "back") write(typed.trimEnd().replace(/(\s*\d+\/\d+|[a-z]+|.)$/, "").trimEnd());
      else if (key === "clear") write("");
      else if (key === "next") next();
      // A fraction stands after the whole inches and takes the place of another fraction.
      else if (/^\d+\/\d+$/.test(key)) write(`${typed.replace(/\s*\d*\/\d*$/, "").trimEnd()} ${key}`.trim());
      // A unit stands apart from its number, and takes the place of another one.
      else if (/^[a-z]+$/.test(key)) write(`${typed.replace(/[\sa-z]*$/, "")} ${key} `.trimStart());
      else write(typed + key);
    };

    // The phone's own keyboard would cover the keys; one that is plugged in still types.
    for (const size of sizes) {
      size.inputMode = "none";
      size.addEventListener("focus", () => choose(size));
      // Typed on keys, 23 1/2 x 3 1/4 x 13/16 goes from size to size, and Enter to the next one that is empty.
      size.addEventListener("keydown", (event) => {
        const later = sizes.slice(sizes.indexOf(size) + 1);
        const goal = event.key === "Enter" ? later.find((each) => !each.value.trim()) : /^[x×*]$/i.test(event.key) && later[0];
        if (!goal || event.ctrlKey || event.metaKey || event.altKey) return;
        event.preventDefault();
        goal.focus();
      });
    }
    for (const key of keypad.querySelectorAll("[data-key]")) {
      // The size keeps the focus, so that keys and keypad can be mixed.
      key.addEventListener("pointerdown", (event) => event.preventDefault());
      key.addEventListener("click", () => press(key.dataset.key));
    }
    keypad.hidden = false;
    choose(sizes.find((each) => each.getAttribute("aria-invalid")) || sizes.find((each) => !each.value.trim()) || sizes[0]);
  }
})();
