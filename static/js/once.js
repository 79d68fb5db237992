// A form with data-once is sent once: a second tap while the first is under way sends nothing.
// The button stays enabled, since a disabled one would not be sent with the form.
"use strict";

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!form.hasAttribute("data-once") || event.defaultPrevented) return;
  if (form.dataset.sent) {
    event.preventDefault();
    return;
  }
  form.dataset.sent = "yes";
  form.setAttribute("aria-busy", "true");
});

// A page that comes back from the browser's memory may be sent again.
window.addEventListener("pageshow", (event) => {
  if (!event.persisted) return;
  for (const form of document.querySelectorAll("form[data-once]")) {
    delete form.dataset.sent;
    form.removeAttribute("aria-busy");
  }
});
