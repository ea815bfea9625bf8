// Seconds and minutes run here, from moments that the server gave, corrected by this station's offset.
import { serverNow } from "./clock_offset.js";
import { $$, page } from "./dom.js";

export const face = (moment) => new Date(moment).toLocaleTimeString("en-GB", { timeZone: page.zone });
export const momentOf = (tap) => Date.parse(tap.device_at) + (tap.offset_ms ?? 0);

export function ran(ms) {
  const all = Math.max(0, Math.floor(ms / 1000)), h = Math.floor(all / 3600), m = Math.floor(all / 60) % 60;
  const two = (n) => String(n).padStart(2, "0");
  return `${h ? `${h}:${two(m)}` : m}:${two(all % 60)}`;
}

export function drawClocks() {
  for (const one of $$("time.since, time.until")) {
    const { since, until, round } = one.dataset, held = one.closest("[data-now]"); // a page of samples stands still
    const left = Date.parse(since ?? until) - (held ? Date.parse(held.dataset.now) : serverNow());
    const text = since ? ran(-left) : `${Math.max(0, Math[round](left / 60000))}`; // oxygen down, the way up: the safe side
    if (one.textContent !== text) one.textContent = text;
  }
}

drawClocks();
setInterval(drawClocks, 250);
