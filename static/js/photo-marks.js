// Marks points on a photo at the resolution of the screen: fitted to the page, or at the photo's own pixels.
// Without this script the photo is small and a press on it is sent as the browser does it.
"use strict";

for (const form of document.querySelectorAll("[data-marks]")) {
  const picture = form.querySelector("input[type=image]");
  const larger = document.querySelector("[data-larger]");
  const wide = Number(form.dataset.marks);

  const fit = () => {
    form.classList.add("fitted");
    picture.removeAttribute("width");
    picture.removeAttribute("height");
  };

  picture.addEventListener("click", (event) => {
    // A press of the Enter key has no place.
    if (!event.clientX && !event.clientY) {
      event.preventDefault();
      return;
    }
    const box = picture.getBoundingClientRect();
    const scale = wide / box.width;
    const x = (event.clientX - box.left) * scale;
    const y = (event.clientY - box.top) * scale;
    const address = new URL(form.action);
    address.searchParams.set("do", form.elements.do.value);
    address.searchParams.set("at", `${form.elements.at.value} ${x.toFixed(1)},${y.toFixed(1)}`.trim());
    address.searchParams.set("scale", scale.toFixed(3));
    if (form.elements.tag_side.value) address.searchParams.set("tag_side", form.elements.tag_side.value);
    event.preventDefault();
    location.assign(address);
  });

  if (larger) {
    larger.hidden = false;
    larger.addEventListener("click", () => {
      const grown = form.classList.contains("fitted");
      if (grown) {
        form.classList.remove("fitted");
        picture.width = wide;
      } else {
        fit();
      }
      larger.textContent = grown ? "Fit it to the page" : "Larger, to mark more truly";
    });
  }
  fit();
}
