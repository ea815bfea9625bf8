// The last picture of this page, kept for a reload without the server. Wiped when the screen or the case is done.
import { $, on, page } from "./dom.js";
import { drawn } from "./panels.js";

const EVERY_MS = 3000, copy = document.cloneNode(true);
let timer, first = true;

export const wipe = () => globalThis.caches?.delete("pictures");

async function put() {
  clearTimeout(timer);
  timer = null;
  const cache = await caches.open("pictures"), url = location.pathname + location.search;
  for (const [name, html] of Object.entries(drawn)) {
    const one = $(`#${name}`, copy);
    if (one) one.outerHTML = html;
  }
  Object.assign(copy.body.dataset, { heard: page.heard, seen: page.seen });
  const kept = new Response(`<!doctype html>${copy.documentElement.outerHTML}`);
  await ($("[data-ended]") ? cache.delete(url) : cache.put(url, kept));
}

// The panels as the server last drew them, and when it was last heard.
export function keepPicture() {
  if (!globalThis.caches || !("kept" in page)) return; // nothing of the desk stays on a disk
  timer ??= setTimeout(put, first ? 0 : EVERY_MS);
  first = false;
}

on("pagehide", () => { if (timer) put(); });
if (!page.page) keepPicture(); // what works on this screen is shown without the server, too
navigator.serviceWorker?.register("/sw.js").catch(() => null);
