// Strips are dragged to their place by their grip, with a mouse or a finger; the buttons beside it do the same. Each
// move is saved at once, and the page is updated in place. Without this script each button loads the page again.
"use strict";

const showGrips = () => {
  for (const grip of document.querySelectorAll("[data-strips] [data-grip]")) grip.hidden = false;
};
showGrips();

const EDGE = 70;
const STEP = 6;
let busy = false;

const keep = async (form, value, moved) => {
  if (busy) return;
  busy = true;
  const fields = new FormData(form);
  fields.set("do", value);
  try {
    const response = await fetch(form.action, { method: "POST", body: fields });
    const page = new DOMParser().parseFromString(await response.text(), "text/html");
    const content = page.getElementById("content");
    if (!response.ok || !page.querySelector("[data-strips]")) {
      location.reload();
      return;
    }
    document.getElementById("content").replaceChildren(...document.adoptNode(content).childNodes);
    showGrips();
    if (moved) tell(moved, value);
  } catch {
    location.reload();
  } finally {
    busy = false;
  }
};

// The strip where it lies now, with the same button under the finger, and a sentence for who can't see it.
const tell = (moved, value) => {
  const strip = document.getElementById(`strip-${moved.glueUp}-${moved.to}`);
  if (!strip) return;
  const word = value.split("-")[0];
  const button = strip.querySelector(`[data-press][value^="${word}-"]:not([disabled])`) ?? strip;
  button.focus({ preventScroll: word === "move" });
  const said = document.querySelector("[data-said]");
  if (said) said.textContent = `${strip.querySelector(".strip-words").textContent.trim().replace(/\s+/g, " ")}`;
};

document.addEventListener("submit", (event) => {
  const form = event.target.closest("form[data-strips]");
  if (!form || !event.submitter) return;
  event.preventDefault();
  const value = event.submitter.value;
  const [word, glueUp, place] = value.split("-");
  const by = { up: -1, down: 1 }[word] ?? 0;
  keep(form, value, place === undefined ? null : { glueUp, to: Number(place) + by });
});

// How far down the screen the list begins: on a phone the drawing stays above it.
const seenFrom = (strip) => {
  const drawing = strip.closest("section").querySelector("figure").getBoundingClientRect();
  return drawing.right > strip.getBoundingClientRect().left ? Math.max(drawing.bottom, 0) : 0;
};

document.addEventListener("pointerdown", (event) => {
  const grip = event.target.closest("[data-strips] [data-grip]");
  if (!grip || event.button !== 0 || busy) return;
  event.preventDefault();
  const strip = grip.closest("[data-strip]");
  const { glueUp, place } = strip.dataset;
  const row = [...strip.parentElement.querySelectorAll(`[data-strip="${strip.dataset.strip}"]`)];
  const middles = row.map((each) => {
    const box = each.getBoundingClientRect();
    return (box.top + box.bottom) / 2 + window.scrollY;
  });
  const from = row.indexOf(strip);
  let to = from;
  const began = event.pageY;
  let held = event.clientY;
  let frame = 0;
  grip.setPointerCapture(event.pointerId);
  strip.classList.add("dragged");

  const follow = () => {
    const free = held + window.scrollY - began;
    const by = Math.min(Math.max(free, middles[0] - middles[from]), middles.at(-1) - middles[from] + 1);
    // Near the edge of what can be seen the page comes along, even while the finger rests.
    if (by === free && held > window.innerHeight - EDGE) window.scrollBy(0, STEP);
    if (by === free && held < seenFrom(strip) + EDGE) window.scrollBy(0, -STEP);
    strip.style.transform = `translateY(${by}px)`;
    to = middles.filter((middle, at) => at !== from && middle < middles[from] + by).length;
    row.forEach((each, at) => {
      each.classList.toggle("makes-room-above", to < from && at === to);
      each.classList.toggle("makes-room-below", to > from && at === to);
    });
    frame = requestAnimationFrame(follow);
  };
  const move = (moved) => {
    held = moved.clientY;
    frame ||= requestAnimationFrame(follow);
  };
  const end = (ended) => {
    grip.removeEventListener("pointermove", move);
    grip.removeEventListener("pointerup", end);
    grip.removeEventListener("pointercancel", end);
    if (frame) follow();
    cancelAnimationFrame(frame);
    strip.style.transform = "";
    for (const each of row) each.classList.remove("dragged", "makes-room-above", "makes-room-below");
    if (ended.type !== "pointerup" || to === from) return;
    const target = Number(place) + to - from;
    keep(strip.closest("form"), `move-${glueUp}-${place}-${target}`, { glueUp, to: target });
  };
  grip.addEventListener("pointermove", move);
  grip.addEventListener("pointerup", end);
  grip.addEventListener("pointercancel", end);
});
