// A pedal, ring or clicker that sends a key confirms the next step: twice within 3 s. Once alone does nothing.
import { $, on, say } from "./dom.js";

const KEYS = ["Enter", " ", "PageDown", "MediaPlayPause", "MediaTrackNext"], APART_MS = 300, ARMED_MS = 3000;
let armed, at = 0, timer;

function arm(words, step) {
  [armed, at] = [step, performance.now()];
  say("#armed", words);
  clearTimeout(timer);
  timer = setTimeout(arm, ARMED_MS);
}

function onKey(event) {
  const button = $("#next .tap-next");
  if (!KEYS.includes(event.key) || !button || event.target !== document.body) return;
  event.preventDefault();
  if (event.repeat || performance.now() - at < APART_MS) return; // held down, or one press that bounced
  const step = button.dataset.kind + button.dataset.body;
  if (armed !== step) return arm($(".tap-label", button).textContent, step);
  arm();
  button.click();
}

if ($("#armed")) {
  on("keydown", onKey);
  // What a finger has touched keeps no focus: the pedal would press it again.
  on("click", ({ detail }) => { if (detail) document.activeElement?.blur(); });
}
