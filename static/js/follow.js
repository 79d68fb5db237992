// Sends a form with data-follow while somebody types, and updates the parts of the page (data-part) and the address.
// A button with data-press changes the form itself. Focus and typed values stay. Without this script the form's own
// buttons do the same, one page at a time.
"use strict";

for (const form of document.querySelectorAll("form[data-follow]")) {
  const PAUSE = 250;
  let latest = 0;
  let timer = 0;

  const answers = () => {
    const kept = new URLSearchParams();
    for (const [name, value] of new FormData(form)) if (value.trim()) kept.append(name, value);
    for (const unseen of form.querySelectorAll("[data-only-shown]")) {
      if (getComputedStyle(unseen).display !== "none") continue;
      for (const field of unseen.querySelectorAll("[name]")) kept.delete(field.name);
    }
    return kept;
  };

  // The page at that address; nothing where a later question overtook it or the server can't be reached.
  const ask = async (path, query) => {
    const turn = ++latest;
    try {
      const response = await fetch(`${path}?${query}`);
      const text = await response.text();
      if (turn !== latest) return null;
      const page = new DOMParser().parseFromString(text, "text/html");
      for (const each of page.querySelectorAll("[autofocus]")) each.removeAttribute("autofocus");
      return { page, response };
    } catch {
      return null;
    }
  };

  const swap = (part, page) => {
    const fresh = page.getElementById(part.id);
    if (!fresh) return;
    for (const fold of part.querySelectorAll("details[id]")) {
      const same = page.getElementById(fold.id);
      if (same) same.open = fold.open;
    }
    part.replaceWith(document.adoptNode(fresh));
  };

  const follow = async () => {
    const query = answers();
    const got = await ask(form.dataset.follow, query);
    if (!got) return;
    const wrong = got.response.status === 422;
    const shown = document.activeElement;
    for (const part of document.querySelectorAll("[data-part]")) {
      if (wrong && !form.contains(part)) part.classList.add("stale");
      else if (!(form.contains(part) && part.contains(shown))) swap(part, got.page);
    }
    if (got.response.ok && form.querySelector("input[required]").value.trim()) document.title = got.page.title;
    if (got.response.ok || wrong) history.replaceState(history.state, "", `${form.dataset.follow}?${query}`);
  };

  const followSoon = (pause) => {
    clearTimeout(timer);
    timer = setTimeout(follow, pause);
  };

  form.addEventListener("input", (event) => followSoon(event.target.matches("input[type=text]") ? PAUSE : 0));

  const press = async (path, value) => {
    clearTimeout(timer);
    const query = answers();
    query.append("do", value);
    const got = await ask(path, query);
    if (!got || !got.response.ok) return;
    for (const part of form.querySelectorAll("[data-part]")) swap(part, got.page);
    history.replaceState(history.state, "", got.response.url);
    focusAfter(value);
    if (new URL(got.response.url).pathname !== form.dataset.follow) follow();
  };

  // The band that was moved, with the same button under the finger; else the bands as a whole.
  const focusAfter = (value) => {
    const bands = form.querySelectorAll("[data-band]");
    const [word, first, second] = value.split("-");
    const places = { up: first - 1, down: +first + 1, move: +second, remove: Math.min(first, bands.length), add: bands.length };
    const band = bands[(places[word] ?? 0) - 1] ?? form.querySelector("#woods");
    const button = band.querySelector(`[data-press][value^="${word}-"]:not([disabled])`);
    (["up", "down"].includes(word) && button ? button : band).focus();
  };

  form.addEventListener("click", (event) => {
    const button = event.target.closest("[data-press]");
    if (!button) return;
    event.preventDefault();
    press(button.formAction, button.value);
  });

  form.addEventListener("press", (event) => press(event.detail.path, event.detail.value));
}
