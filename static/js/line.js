// One open line a browser and page: the tab that holds the lock has it and passes on what comes, the others listen.
import { knowledge, probe } from "./clock_offset.js";

const SILENT_MS = 12000, UNPAIRED = [401, 403, 410];
let source = null, channel = null, release = null, heardAt = 0, see = null;
const body = document.body.dataset;
const hear = () => { heardAt = performance.now(); see.up(); }; // not the clock on the wall: that may be set

function address(asked) {
  const query = new URLSearchParams({ page: body.page, ...asked });
  for (const one of body.cases.split(" ")) query.append("case", one);
  return `/api/live?${query}`;
}

// EventSource does not say why it was refused.
async function why() {
  const stop = new AbortController();
  const status = await fetch(address({ seen: body.seen }), { signal: stop.signal }).then((answer) => answer.status, () => 0);
  stop.abort();
  if (UNPAIRED.includes(status)) see.unpaired();
}

async function connect() {
  source?.close();
  const asked = { seen: body.seen, waiting: body.waiting ?? 0 }, known = knowledge();
  if (known.offset_ms !== null) asked.skew_ms = -known.offset_ms;
  const mine = source = new EventSource(address(asked));
  source.addEventListener("open", () => { pass({ up: 1 }); probe(); });
  source.addEventListener("pairing", () => pass({ moved: 1 }));
  source.addEventListener("beat", () => pass({ up: 1 }));
  source.addEventListener("pairing", () => pass({ pairing: 1 }));
  source.addEventListener("panels", (event) => pass({ from: body.seen, mark: event.lastEventId, panels: JSON.parse(event.data).panels }));
  source.addEventListener("error", () => {
    const refused = mine.readyState === EventSource.CLOSED;
    mine.close();
    pass({ down: 1 });
    if (refused) why();
    setTimeout(() => { if (source === mine) connect(); }, 700);
  });
}

const pass = (message) => { take(message, true); channel?.postMessage(message); };

function take(message, own) {
  if (message.hello !== undefined) {
    if (source?.readyState === EventSource.OPEN) channel.postMessage({ whole: see.drawn(), mark: body.seen });
    return;
  }
  if (message.down) return see.down();
  if (message.pairing) document.dispatchEvent(new Event("doorside:pairing"));
  if (message.moved) return document.dispatchEvent(new Event("doorside:pairing"));
  const [token, count] = (message.mark ?? "").split("."), [seen, place] = body.seen.split(".");
  if (message.panels && !own && message.from !== body.seen && message.mark !== body.seen) channel.postMessage({ hello: 1 }); // missed some: ask for all
  else if (message.panels) show(message.panels, message.mark);
  else if (message.whole && (token !== seen || Number(count) > Number(place))) show(message.whole, message.mark);
  hear();
}

function show(panels, mark) {
  body.seen = mark || body.seen;
  see.panels(panels);
}

const lead = () => { connect(); return new Promise((resolve) => { release = resolve; }); };

function join(steal = false) {
  if (!navigator.locks) return connect();
  const name = `doorside-live ${address({ station: body.station })}`;
  channel ??= Object.assign(new BroadcastChannel(name), { onmessage: (event) => take(event.data, false) });
  channel.postMessage({ hello: 1 });
  navigator.locks.request(name, { steal }, lead).catch(() => { leave(); join(); }); // another tab took it over
}

function leave() {
  source?.close();
  source = null;
  release?.();
}

export function startLine(seer) {
  see = seer;
  heardAt = performance.now();
  window.addEventListener("pagehide", leave);
  window.addEventListener("pageshow", (event) => { if (event.persisted) join(); });
  for (const wake of ["online", "visibilitychange"]) addEventListener(wake, () => { if (source && source.readyState !== EventSource.OPEN) connect(); });
  setInterval(() => {
    if (performance.now() - heardAt < SILENT_MS) return;
    see.down();
    heardAt = performance.now() - SILENT_MS / 2;
    if (source) connect(); // a line may hang without an error: the other end is out of reach
    else if (!document.hidden) join(true);
  }, 1000);
  join();
}
