// Reloads a part with data-poll every second or two until it comes without data-poll, such as a print job.
// Without this script the page itself is loaded again.
"use strict";

for (const first of document.querySelectorAll("[data-poll][id]")) {
  const PAUSE = 1500;

  const ask = async () => {
    const part = document.getElementById(first.id);
    try {
      const response = await fetch(location.href, { cache: "no-store" });
      const page = new DOMParser().parseFromString(await response.text(), "text/html");
      const fresh = page.getElementById(first.id);
      if (response.ok && fresh && fresh.textContent.trim() !== part.textContent.trim()) {
        const held = part.contains(document.activeElement) && part !== document.activeElement ? document.activeElement : null;
        const same = held && [...fresh.querySelectorAll("a, button")].find((each) => each.outerHTML === held.outerHTML);
        // A field that is typed into is left alone; a button that has the focus keeps it.
        if (!held || same || !fresh.hasAttribute("data-poll")) {
          // What stands in the part changes, not the part itself: so it is read aloud.
          part.replaceChildren(...fresh.childNodes);
          if (same) same.focus({ preventScroll: true });
          document.title = page.title;
        }
      }
      if (response.ok && fresh && !fresh.hasAttribute("data-poll")) return;
    } catch {
      // The server may be back at the next question.
    }
    setTimeout(ask, PAUSE);
  };

  setTimeout(ask, PAUSE);
}
