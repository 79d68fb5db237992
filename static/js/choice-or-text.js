// Big buttons with a text field beside them: the one used last counts, and the page shows which.
// Attached to [data-choice-or-text], which holds the radio buttons and the text input.
(() => {
  for (const group of document.querySelectorAll("[data-choice-or-text]")) {
    const text = group.querySelector("input[type=text]");
    const choices = [...group.querySelectorAll("input[type=radio]")];
    if (!text) continue;
    text.addEventListener("input", () => {
      if (text.value.trim()) for (const each of choices) each.checked = false;
    });
    for (const each of choices) {
      each.addEventListener("change", () => {
        if (each.checked) text.value = "";
      });
    }
  }
})();
