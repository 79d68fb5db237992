// Scans live in a [data-live] section where the browser allows the camera (https or localhost): sends frames to the
// server one after the other, and opens the page of the first tag that is read. Hidden elsewhere.
"use strict";

for (const section of document.querySelectorAll("[data-live]")) {
  if (!navigator.mediaDevices?.getUserMedia) continue;
  const LONGEST = 1280;
  const PAUSE = 150;
  const [start, stop] = ["start", "stop"].map((name) => section.querySelector(`[data-live-${name}]`));
  const video = section.querySelector("video");
  const words = section.querySelector("[data-live-words]");
  const canvas = document.createElement("canvas");
  const token = document.querySelector("input[name=csrf_token]").value;
  let stream = null;
  section.hidden = false;

  const say = (text) => {
    if (words.textContent !== text) words.textContent = text;
  };

  const show = (on) => {
    start.hidden = on;
    stop.hidden = !on;
    video.hidden = !on;
  };

  const end = () => {
    for (const track of stream?.getTracks() ?? []) track.stop();
    stream = null;
    video.srcObject = null;
    show(false);
  };

  const picture = () => {
    const scale = Math.min(1, LONGEST / Math.max(video.videoWidth, video.videoHeight));
    canvas.width = Math.round(video.videoWidth * scale);
    canvas.height = Math.round(video.videoHeight * scale);
    canvas.getContext("2d").drawImage(video, 0, 0, canvas.width, canvas.height);
    return new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.85));
  };

  const look = async () => {
    if (!stream) return;
    try {
      const blob = video.videoWidth ? await picture() : null;
      if (blob) {
        const form = new FormData();
        form.append("csrf_token", token);
        form.append("photo", blob, "frame.jpg");
        const response = await fetch(section.dataset.live, { method: "POST", body: form });
        const told = await response.json();
        if (!stream) return;
        say(told.words);
        if (told.address) {
          end();
          window.location.assign(told.address);
          return;
        }
      }
    } catch {
      say("The shop can't be reached. Take a photo later, or type the code.");
    }
    window.setTimeout(look, PAUSE);
  };

  start.addEventListener("click", async () => {
    try {
      stream = await navigator.mediaDevices.getUserMedia({
        video: { facingMode: "environment", width: { ideal: 1280 } },
        audio: false,
      });
    } catch {
      say("The browser does not lend the camera. Allow it there, send a photo, or type the code.");
      return;
    }
    video.srcObject = stream;
    show(true);
    say("Hold a tag before the camera.");
    await video.play();
    look();
  });
  stop.addEventListener("click", () => {
    end();
    say("");
  });
  window.addEventListener("pagehide", end);
}
