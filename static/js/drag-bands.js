// Bands are dragged to their place by their grip, with a mouse or a finger; the buttons beside it do the same.
"use strict";

const EDGE = 90;
const STEP = 14;

const showGrips = () => {
  for (const grip of document.querySelectorAll("[data-grip][hidden]")) grip.hidden = false;
};
showGrips();
new MutationObserver(showGrips).observe(document.body, { childList: true, subtree: true });

document.addEventListener("pointerdown", (event) => {
  const grip = event.target.closest("[data-grip]");
  if (!grip || event.button !== 0) return;
  event.preventDefault();
  const band = grip.closest("[data-band]");
  const row = [...band.parentElement.querySelectorAll("[data-band]")];
  const middles = row.map((each) => {
    const box = each.getBoundingClientRect();
    return (box.top + box.bottom) / 2 + window.scrollY;
  });
  const from = row.indexOf(band);
  let to = from;
  grip.setPointerCapture(event.pointerId);
  band.classList.add("dragged");

  const began = event.clientY + window.scrollY;
  const move = (moved) => {
    // Near the edge of the screen the page comes along.
    if (moved.clientY < EDGE) window.scrollBy(0, -STEP);
    if (moved.clientY > window.innerHeight - EDGE) window.scrollBy(0, STEP);
    const by = moved.clientY + window.scrollY - began;
    band.style.transform = `translateY(${by}px)`;
    to = middles.filter((middle, place) => place !== from && middle < middles[from] + by).length;
    row.forEach((each, place) => {
      each.classList.toggle("makes-room-above", to < from && place === to);
      each.classList.toggle("makes-room-below", to > from && place === to);
    });
  };
  const end = (ended) => {
    grip.removeEventListener("pointermove", move);
    grip.removeEventListener("pointerup", end);
    grip.removeEventListener("pointercancel", end);
    band.style.transform = "";
    for (const each of row) each.classList.remove("dragged", "makes-room-above", "makes-room-below");
    if (ended.type !== "pointerup" || to === from) return;
    const path = band.querySelector("[data-press]").formAction;
    const value = `move-${from + 1}-${to + 1}`;
    band.closest("form").dispatchEvent(new CustomEvent("press", { detail: { path, value } }));
  };
  grip.addEventListener("pointermove", move);
  grip.addEventListener("pointerup", end);
  grip.addEventListener("pointercancel", end);
});
