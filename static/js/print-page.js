// A button with data-print prints the page; it is shown only where that works.
"use strict";

for (const button of document.querySelectorAll("[data-print]")) {
  button.hidden = false;
  button.addEventListener("click", () => window.print());
}
