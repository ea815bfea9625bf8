// The last picture of this page, kept for a reload without the server. Wiped when the screen or the case is done.
const PICTURES = "pictures", EVERY_MS = 3000, LIVE = /^\/(inside|outside|board|wall|diagnostics)(\/|$)/;
let timer = null, latest = null, first = true;

export const wipe = () => globalThis.caches?.delete(PICTURES);

function html() {
  const copy = document.documentElement.cloneNode(true), body = copy.querySelector("body");
  for (const [name, text] of Object.entries(latest.drawn)) { const one = copy.querySelector(`#${name}`); if (one) one.outerHTML = text; }
  for (const one of copy.querySelectorAll("#undo, #refused, #unpaired")) one.hidden = true;
  body.classList.remove("stale");
  body.dataset.pictured = latest.heard();
  return `<!doctype html>${copy.outerHTML}`;
}

async function put() {
  clearTimeout(timer);
  timer = null;
  const cache = await caches.open(PICTURES), url = location.pathname + location.search;
  if (document.querySelector("[data-ended]")) await cache.delete(url);
  else await cache.put(url, new Response(html()));
}

// drawn: panels as the server last drew them; heard: when it was last heard, ms by this tablet's clock.
export function keepPicture(drawn, heard) {
  if (!globalThis.caches || !LIVE.test(location.pathname)) return; // nothing of the desk stays on a disk
  latest = { drawn, heard };
  timer ??= setTimeout(put, first ? 0 : EVERY_MS);
  first = false;
}

addEventListener("pagehide", () => { if (timer) put(); });

export function startWorker() {
  if (document.body.dataset.station && !document.body.dataset.page) keepPicture({}, Date.now); // diagnostics work without the server
  navigator.serviceWorker?.register("/sw.js").catch((error) => console.info("no worker:", error.message));
}
