// Shows a photo that was taken before it is sent: a file input [data-preview="id"] fills the element with that id,
// and becomes one big button.
// Drawn on a canvas, because a page here may show no picture from anywhere but the shop's server.
(() => {
  const SIDE = 480;

  const drawn = async (file) => {
    const picture = await createImageBitmap(file);
    const scale = Math.min(1, SIDE / Math.max(picture.width, picture.height));
    const canvas = document.createElement("canvas");
    canvas.width = Math.max(1, Math.round(picture.width * scale));
    canvas.height = Math.max(1, Math.round(picture.height * scale));
    canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
    picture.close();
    return canvas;
  };

  for (const input of document.querySelectorAll("input[type=file][data-preview]")) {
    const place = document.getElementById(input.dataset.preview);
    if (!place) continue;
    input.closest(".field-file")?.toggleAttribute("data-big", true);
    input.addEventListener("change", async () => {
      place.replaceChildren();
      for (const file of input.files) {
        const figure = document.createElement("figure");
        const name = document.createElement("figcaption");
        name.textContent = file.name;
        try {
          const canvas = await drawn(file);
          canvas.setAttribute("role", "img");
          canvas.setAttribute("aria-label", `Photo to be sent: ${file.name}`);
          figure.append(canvas);
        } catch {
          // Some phones send a kind of picture that the browser can't draw; the server can read it.
        }
        figure.append(name);
        place.append(figure);
      }
      place.hidden = !input.files.length;
    });
  }
})();
