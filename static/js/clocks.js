// Seconds and minutes run here, from moments that the server gave, corrected by this station's offset.
import { serverNow } from "./clock_offset.js";
import { $$, page } from "./dom.js";

export const face = (moment) => new Date(moment).toLocaleTimeString("en-GB", { timeZone: page.zone });
export const momentOf = (tap) => Date.parse(tap.device_at) + (tap.offset_ms ?? 0);

export function ran(ms) {
  const all = Math.max(0, Math.floor(ms / 1000)), h = Math.floor(all / 3600), m = Math.floor(all / 60) % 60;
  const two = (n) => String(n).padStart(2, "0");
  return h ? `${h}:${two(m)}:${two(all % 60)}` : `${m}:${two(all % 60)}`;
}

export function drawClocks() {
  for (const one of $$("time.since, time.until")) {
    const { since, until, round } = one.dataset, held = one.closest("[data-now]"); // a page of samples stands still
    const now = held ? Date.parse(held.dataset.now) : serverNow();
    // Oxygen is rounded down and the way up: the safe side.
    const text = since ? ran(now - Date.parse(since)) : `${Math.max(0, Math[round]((Date.parse(until) - now) / 60000))}`;
    if (one.textContent !== text) one.textContent = text;
  }
}

drawClocks();
setInterval(drawClocks, 250);
