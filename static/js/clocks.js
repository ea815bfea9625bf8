// Seconds run here, from moments that the server gave, corrected by this station's offset. No page asks for the time.
import { serverNow } from "./clock_offset.js";

export function ran(ms) {
  const seconds = Math.max(0, Math.floor(ms / 1000)), m = Math.floor(seconds / 60), h = Math.floor(m / 60);
  const two = (n) => String(n).padStart(2, "0");
  return h ? `${h}:${two(m % 60)}:${two(seconds % 60)}` : `${m}:${two(seconds % 60)}`;
}

export function drawClocks(root = document) {
  const now = serverNow();
  for (const element of root.querySelectorAll("time.since")) {
    const held = element.closest("[data-now]"); // a page of samples stands still
    const text = ran((held ? Date.parse(held.dataset.now) : now) - Date.parse(element.dataset.since));
    if (element.textContent !== text) element.textContent = text;
  }
}

export function startClocks() {
  drawClocks();
  setInterval(drawClocks, 250);
}
