// Strips are dragged to their place by their grip, with a mouse or a finger; the buttons beside it do the same. What
// was moved is kept at once, and the page follows without being loaded anew. Without this script each button loads it.
"use strict";

const showGrips = () => {
  for (const grip of document.querySelectorAll("[data-strips] [data-grip]")) grip.hidden = false;
};
showGrips();

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
  (strip.querySelector(`[data-press][value^="${word}-"]:not([disabled])`) ?? strip).focus({ preventScroll: word === "move" });
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
  grip.setPointerCapture(event.pointerId);
  strip.classList.add("dragged");

  const move = (moved) => {
    const by = moved.pageY - event.pageY;
    strip.style.transform = `translateY(${by}px)`;
    to = middles.filter((middle, at) => at !== from && middle < middles[from] + by).length;
    row.forEach((each, at) => {
      each.classList.toggle("makes-room-above", to < from && at === to);
      each.classList.toggle("makes-room-below", to > from && at === to);
    });
  };
  const end = (ended) => {
    grip.removeEventListener("pointermove", move);
    grip.removeEventListener("pointerup", end);
    grip.removeEventListener("pointercancel", end);
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
