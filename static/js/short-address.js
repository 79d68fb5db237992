// A search form with data-short-address leaves its empty fields, and those that it doesn't show, out of the address.
"use strict";

for (const form of document.querySelectorAll("form[data-short-address]")) {
  form.addEventListener("submit", () => {
    const empty = [...form.querySelectorAll("input[type=text]")].filter((field) => !field.required && !field.value.trim());
    const unseen = [...form.querySelectorAll("[data-only-shown]")]
      .filter((part) => getComputedStyle(part).display === "none")
      .flatMap((part) => [...part.querySelectorAll("input, select")]);
    const left = [...new Set([...empty, ...unseen])].filter((field) => !field.disabled);
    for (const field of left) field.disabled = true;
    // Enabled again for the page that the browser may bring back.
    setTimeout(() => {
      for (const field of left) field.disabled = false;
    }, 0);
  });
}
