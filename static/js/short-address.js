// A search form with data-short-address leaves its empty answers out of the address.
"use strict";

for (const form of document.querySelectorAll("form[data-short-address]")) {
  form.addEventListener("submit", () => {
    const empty = [...form.querySelectorAll("input[type=text]")].filter((field) => !field.required && !field.value.trim());
    for (const field of empty) field.disabled = true;
    // Enabled again for the page that the browser may bring back.
    setTimeout(() => {
      for (const field of empty) field.disabled = false;
    }, 0);
  });
}
