// One touch sets both faces; a second one sets the other face alone.
// Attached to [data-both-faces], which holds the radio buttons "face_a" (both) and "face_b" (the other, if it differs).
(() => {
  for (const group of document.querySelectorAll("[data-both-faces]")) {
    const same = group.querySelector("input[name=face_b][value='']");
    for (const both of group.querySelectorAll("input[name=face_a]")) {
      both.addEventListener("change", () => {
        same.checked = true;
      });
    }
  }
})();
