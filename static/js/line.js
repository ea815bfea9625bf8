// One open line a browser and page: the tab that holds the lock has it and passes on what all panels are, the others listen.
// Whether anything comes is said on the page.
import { knowledge, probe } from "./clock_offset.js";
import { ran } from "./clocks.js";
import { $, on, page, say, tell } from "./dom.js";
import { drawn, place } from "./panels.js";
import { keepPicture } from "./picture.js";

const STALE_MS = 30000, LOST_MS = 3000, FIRST_MS = 5000, SILENT_MS = 12000;
let source, channel, release, alive = false, lostMs = page.heard ? LOST_MS : FIRST_MS;
let heardAt = performance.now(); // not the clock on the wall: that may be set
page.heard ??= Date.now();

function show() {
  const { dataset } = $("#link"), silent = Date.now() - page.heard;
  const state = alive ? "live" : silent > lostMs ? "lost" : "connecting";
  $(".link-since").textContent = ran(silent);
  document.body.classList.toggle("stale", !alive && silent > STALE_MS && page.page !== "inside");
  if (dataset.state === state) return;
  dataset.state = state;
  tell("link");
  if (alive) tell("answers");
}

function hear(heard) {
  alive = heard;
  if (heard) {
    [lostMs, page.heard, heardAt] = [LOST_MS, Date.now(), performance.now()];
    say("#unpaired");
    keepPicture();
  }
  show();
}

function connect() {
  source?.close();
  const { offset_ms } = knowledge(), { waiting = 0, seen } = page, query = new URLSearchParams({ page: page.page, seen, waiting });
  if (offset_ms !== null) query.set("skew_ms", -offset_ms);
  for (const one of page.cases.split(" ")) query.append("case", one);
  const mine = source = new EventSource(`/api/live?${query}`);
  const pass = (message) => {
    take(message);
    channel?.postMessage(message.panels ? { ...message, panels: drawn } : message);
  };
  mine.onopen = () => { pass({}); probe(); };
  mine.onerror = () => {
    if (mine.readyState === EventSource.CLOSED) tell("pairing"); // refused, and it does not say why
    mine.close();
    pass({ down: true });
    setTimeout(() => { if (source === mine) connect(); }, 700);
  };
  mine.addEventListener("beat", () => pass({}));
  mine.addEventListener("pairing", () => pass({ pairing: true }));
  mine.addEventListener("panels", (event) => pass({ mark: event.lastEventId, ...JSON.parse(event.data) }));
}

function take({ hello, down, pairing, mark = page.seen, panels }) {
  if (hello) return source?.readyState === EventSource.OPEN && channel.postMessage({ mark: page.seen, panels: drawn });
  if (pairing) tell("pairing");
  const [token, count] = mark.split("."), [seen, shown] = page.seen.split(".");
  if (token !== seen || Number(count) > Number(shown)) {
    const changed = Object.entries(panels).filter(([name, html]) => drawn[name] !== html);
    Object.assign(drawn, panels);
    page.seen = mark;
    place(Object.fromEntries(changed));
    tell("pushed");
  }
  hear(!down);
}

function leave() {
  source?.close();
  source = null;
  release?.();
}

function join(steal = false) {
  if (!navigator.locks) return connect();
  const name = `doorside-live ${page.station} ${page.page} ${page.cases}`;
  const lead = () => new Promise((resolve) => { release = resolve; connect(); });
  channel ??= Object.assign(new BroadcastChannel(name), { onmessage: ({ data }) => take(data) });
  channel.postMessage({ hello: true });
  navigator.locks.request(name, { steal }, lead).catch(() => { leave(); join(); }); // another tab took it over
}

function look() {
  show();
  if (performance.now() - heardAt < SILENT_MS) return;
  heardAt = performance.now() - SILENT_MS / 2;
  hear(false);
  if (source) connect(); // a line may hang without an error: the other end is out of reach
  else if (!document.hidden) join(true);
}

if (page.page) {
  on("pagehide", leave);
  on("pageshow", ({ persisted }) => { if (persisted) join(); });
  on("online visibilitychange", () => { if (source && source.readyState !== EventSource.OPEN) connect(); });
  setInterval(look, 1000);
  join();
}
