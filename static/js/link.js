// The line from the server: changed panels come in and are put in place without disturbing what is being typed.
import { drawClocks, ran } from "./clocks.js";
import { probe, serverNow } from "./clock_offset.js";

const STALE_MS = 30000;
let heard = Date.now(), source = null, opened = false;

export function place(panels) {
  for (const [name, html] of Object.entries(panels)) {
    const old = document.getElementById(name);
    if (old) window.Idiomorph.morph(old, html, { morphStyle: "outerHTML", ignoreActiveValue: typing(), callbacks: { beforeAttributeUpdated: keepOpen } });
  }
  drawClocks();
  document.dispatchEvent(new CustomEvent("doorside:placed", { detail: Object.keys(panels) }));
}

// Only a field that is being filled in is left alone; a button that has the focus must change its words like any other.
const typing = () => document.activeElement?.matches("input, select, textarea") ?? false;

// A reader's own choice stays: what was unfolded, and where a stepper stands, is not the server's to change.
function keepOpen(name, node) {
  if (!node.dataset.touched) return undefined;
  // The mark itself must stay too: without it the next push would show the server's figure over the reader's.
  return ["open", "data-value", "data-touched"].includes(name) ? false : undefined;
}

function address() {
  const body = document.body.dataset, query = new URLSearchParams({ page: body.page, seen: body.seen });
  for (const one of body.cases.split(" ")) query.append("case", one);
  return `/api/live?${query}`;
}

function connect() {
  source?.close();
  source = new EventSource(address());
  source.addEventListener("open", () => { opened = true; hear(); probe(); });
  source.addEventListener("panels", (event) => {
    document.body.dataset.seen = event.lastEventId || document.body.dataset.seen;
    place(JSON.parse(event.data).panels);
    hear();
  });
  source.addEventListener("error", () => {
    show();
    if (source.readyState === EventSource.CLOSED) setTimeout(connect, 1500);
  });
}

function hear() { heard = Date.now(); show(); }

function show() {
  const badge = document.getElementById("link");
  if (!badge) return;
  const alive = source?.readyState === EventSource.OPEN;
  const silent = Date.now() - heard;
  const state = alive ? "live" : opened && silent > 3000 ? "lost" : opened ? "connecting" : silent > 5000 ? "lost" : "connecting";
  if (badge.dataset.state !== state) badge.dataset.state = state;
  badge.querySelector(".link-since").textContent = ran(silent);
  document.body.classList.toggle("stale", !alive && silent > STALE_MS);
}

export function startLink() {
  document.addEventListener("toggle", (event) => {
    if (event.target instanceof HTMLDetailsElement) event.target.dataset.touched = "1";
  }, true);
  window.addEventListener("online", connect);
  document.addEventListener("visibilitychange", () => { if (!document.hidden && source?.readyState !== EventSource.OPEN) connect(); });
  window.addEventListener("pagehide", () => source?.close());
  window.addEventListener("pageshow", (event) => { if (event.persisted) connect(); });
  connect();
  setInterval(show, 1000);
}

export { serverNow };
