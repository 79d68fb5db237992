// A drag across the dots fills the four bounds of the form and sends it. The fields alone do the same without it.
"use strict";

for (const plot of document.querySelectorAll("[data-region]")) {
  const form = document.getElementById(plot.dataset.region);
  const svg = plot.querySelector("svg");
  // The drawing's own units: where the dots lie, as the server drew them.
  const area = { left: 34, top: 14, width: 258, height: 200 };
  const frame = document.createElementNS("http://www.w3.org/2000/svg", "rect");
  frame.setAttribute("class", "stock-region");
  frame.setAttribute("stroke", "currentColor");
  let from = null;

  const place = (event) => {
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    const within = (value, least, length) => Math.min(Math.max(value, least), least + length);
    return { x: within(at.x, area.left, area.width), y: within(at.y, area.top, area.height) };
  };

  const show = (to) => {
    frame.setAttribute("x", Math.min(from.x, to.x));
    frame.setAttribute("y", Math.min(from.y, to.y));
    frame.setAttribute("width", Math.abs(to.x - from.x));
    frame.setAttribute("height", Math.abs(to.y - from.y));
  };

  svg.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    from = place(event);
    svg.querySelectorAll(".stock-region").forEach((each) => each.remove());
    show(from);
    svg.append(frame);
    svg.setPointerCapture(event.pointerId);
    event.preventDefault();
  });
  svg.addEventListener("pointermove", (event) => {
    if (from) show(place(event));
  });
  svg.addEventListener("pointercancel", () => {
    from = null;
    frame.remove();
  });
  svg.addEventListener("pointerup", (event) => {
    if (!from) return;
    const to = place(event);
    const start = from;
    from = null;
    if (Math.abs(to.x - start.x) < 4 || Math.abs(to.y - start.y) < 4) {
      frame.remove();
      return;
    }
    const fine = plot.dataset.unit === "in" ? 8 : 1;
    // As a shop types it: 12 3/8, not 12.375.
    const typed = (parts) => {
      let [over, under] = [parts % fine, fine];
      while (over && over % 2 === 0) [over, under] = [over / 2, under / 2];
      const whole = Math.floor(parts / fine);
      return over ? `${whole || ""} ${over}/${under}`.trim() : `${whole}`;
    };
    const down = (value) => typed(Math.floor(value * fine));
    const up = (value) => typed(Math.ceil(value * fine));
    const along = (x) => ((x - area.left) / area.width) * Number(plot.dataset.longest);
    const across = (y) => (1 - (y - area.top) / area.height) * Number(plot.dataset.widest);
    form.elements.length_from.value = down(along(Math.min(start.x, to.x)));
    form.elements.length_to.value = up(along(Math.max(start.x, to.x)));
    form.elements.width_from.value = down(across(Math.max(start.y, to.y)));
    form.elements.width_to.value = up(across(Math.min(start.y, to.y)));
    form.requestSubmit();
  });

  plot.classList.add("can-drag");
  for (const words of document.querySelectorAll(".stock-drag")) words.hidden = false;
}
