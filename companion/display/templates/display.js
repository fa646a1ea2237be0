"use strict";
// Puts each view that the server sends on the screen, and says so when none can come any more.
const SILENCE_MS = 5000;
const view = document.getElementById("view");
const lost = document.getElementById("lost");
let lastSign = Date.now();

function sign() {
  lastSign = Date.now();
  lost.hidden = true;
}

// The server chose sizes for a common typeface; with a broader one, step down until all fits.
const SIZES = [30, 24, 19, 16, 14, 12, 11, 10, 9, 8, 7, 6, 5];

function fit() {
  const text = document.querySelector(".text");
  const ask = document.querySelector(".ask");
  if (!text || !ask) return;
  const overflows = () => ask.scrollHeight > ask.clientHeight || text.scrollWidth > text.clientWidth;
  let step = SIZES.findIndex((size) => text.classList.contains(`size-${size}`));
  while (overflows() && step + 1 < SIZES.length) {
    text.classList.replace(`size-${SIZES[step]}`, `size-${SIZES[step + 1]}`);
    step += 1;
  }
}

const events = new EventSource("events");
events.addEventListener("beat", sign);
events.addEventListener("view", (event) => {
  view.innerHTML = JSON.parse(event.data);
  fit();
  sign();
});
events.addEventListener("error", () => { lost.hidden = false; });
addEventListener("resize", fit);
setInterval(() => { lost.hidden = Date.now() - lastSign < SILENCE_MS; }, 500);
