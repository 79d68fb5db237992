// Shows beside the Tag button what the tag will say, so that values carried over from the last piece are noticed.
// Attached to [data-carried-over] in the form at the saw.
(() => {
  for (const line of document.querySelectorAll("[data-carried-over]")) {
    const form = line.closest("form");
    const chosen = (name) => form.querySelector(`input[name="${name}"]:checked`)?.value ?? "";
    const either = (name) => form.elements[`${name}_other`]?.value.trim() || chosen(name);

    const say = () => {
      const [both, other] = [chosen("face_a"), chosen("face_b")];
      const count = form.elements.count.value.trim();
      const faces = other && other !== both ? `${both} and ${other}` : `both ${both}`;
      const words = [either("species") || line.dataset.noSpecies, faces, either("location") || line.dataset.noLocation];
      if (count !== "1") words.push(`${count} pieces`);
      for (const mark of form.querySelectorAll('input[name^="mark_"]:checked')) words.push(mark.value);
      const moisture = form.elements.moisture?.value.replace("%", "").trim();
      if (moisture) words.push(`${moisture} %`);
      const batch = either("batch");
      if (batch) words.push(`batch: ${batch}`);
      const note = form.elements.notes?.value.trim() ?? "";
      if (note) words.push(`note: ${note.length > 40 ? `${note.slice(0, 39)}…` : note}`);
      line.textContent = words.join(" · ");
    };
    form.addEventListener("input", say);
    form.addEventListener("change", say);
    say();
  }
})();
