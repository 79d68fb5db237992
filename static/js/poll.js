// A part with data-poll is asked for anew every second or two until it comes without data-poll: a job at a printer.
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
        // What stands in the part changes, not the part itself: so it is read aloud.
        if (!(part.contains(document.activeElement) && fresh.hasAttribute("data-poll"))) {
          part.replaceChildren(...fresh.childNodes);
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
