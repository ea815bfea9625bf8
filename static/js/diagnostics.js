// Looks at what this browser can do. The words stand in the page; here is only yes or no, and a figure.
import { knowledge, probe } from "./clock_offset.js";
import { $, $$, at } from "./dom.js";
import { mark, rows } from "./outbox/store.js";
import { line } from "./tap.js";

const here = navigator, seconds = (ms) => `${(ms / 1000).toFixed(1)} s`;
const compared = ({ offset_ms, error_ms }) => error_ms && [true, `${seconds(offset_ms)} ± ${seconds(error_ms)}`];
const none = async (which) => { const { length } = (await rows()).filter(which); return [!length, length]; };

// Each answers whether it holds, or that and a figure; what throws does not hold.
const CHECKS = {
  link: () => fetch("/api/time", { cache: "no-store" }).then(({ ok }) => ok),
  secure: () => isSecureContext,
  worker: () => here.serviceWorker.register("/sw.js"),
  store: () => mark([]).then(() => true),
  durable: () => here.storage.persist(),
  wake: () => here.wakeLock.request("screen").then((lock) => lock.release()).then(() => true),
  sound: () => AudioContext,
  vibrate: () => here.vibrate,
  clock: () => probe(3).then(knowledge).then(compared),
  battery: () => here.getBattery().then(({ charging, level }) => [charging || level > 0.2, `${Math.round(level * 100)} %`]),
  waiting: () => none((row) => !row.refused),
  refused: () => none((row) => row.refused),
  size: () => [Math.min(screen.width, screen.height) >= 600, `${screen.width} × ${screen.height}`],
};

async function look() {
  for (const one of $$("[data-check]")) {
    delete one.dataset.holds;
    Promise.resolve().then(CHECKS[one.dataset.check]).catch(() => null).then((found) => {
      const [holds, figure] = [found].flat();
      one.dataset.holds = Boolean(holds);
      for (const place of $$(".figure", one)) place.textContent = figure || "";
    });
  }
  $("#taps").replaceChildren(...(await rows()).map(line));
}

at("click", "#again", look);
look();
