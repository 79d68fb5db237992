// Boxes with data-keep-tick="name" stay ticked in this browser when the page is opened again.
"use strict";

for (const box of document.querySelectorAll("[data-keep-tick]")) {
  const key = `ticked:${box.dataset.keepTick}`;
  try {
    box.checked = localStorage.getItem(key) === "yes";
  } catch {
    break;
  }
  box.addEventListener("change", () => {
    try {
      if (box.checked) localStorage.setItem(key, "yes");
      else localStorage.removeItem(key);
    } catch {
      // A browser that keeps nothing still ticks.
    }
  });
}
