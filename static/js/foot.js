// A pedal, ring or clicker that sends a key confirms the next step: twice within 3 s. Once alone does nothing.
const KEYS = ["Enter", " ", "PageDown", "MediaPlayPause", "MediaTrackNext"], APART_MS = 300, ARMED_MS = 3000;
let armed = "", at = 0, timer = null;

function arm(words, seen) {
  const bar = document.getElementById("armed");
  [armed, at] = [seen, performance.now()];
  bar.querySelector("b").textContent = words;
  bar.hidden = !seen;
  clearTimeout(timer);
  timer = setTimeout(arm, ARMED_MS, "", "");
}

function onKey(event) {
  const button = document.querySelector("#next .tap-next");
  if (!KEYS.includes(event.key) || !button || event.target !== document.body) return;
  event.preventDefault();
  if (event.repeat || performance.now() - at < APART_MS) return; // held down, or one press that bounced
  const seen = button.dataset.kind + button.dataset.body;
  if (armed !== seen) return arm(button.querySelector(".tap-label").textContent, seen);
  arm("", "");
  button.click();
}

export function startFoot() {
  if (!document.getElementById("armed")) return;
  document.addEventListener("keydown", onKey);
  // What a finger has touched keeps no focus: the pedal would press it again.
  document.addEventListener("click", (event) => { if (event.detail) document.activeElement?.blur(); });
}
