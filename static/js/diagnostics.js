// Looks at what this browser can do. The words stand in the page; here is only yes or no, and a figure.
import { knowledge, probe } from "./clock_offset.js";
import { mark, rows } from "./outbox/store.js";

const here = navigator, seconds = (ms) => `${(ms / 1000).toFixed(1)} s`;
const some = (found) => [!found.length, found.length];

// Each answers whether it holds, or that and a figure; what throws does not hold.
const CHECKS = {
  link: () => fetch("/api/time", { cache: "no-store" }).then((answer) => answer.ok),
  secure: () => isSecureContext,
  worker: () => here.serviceWorker.register("/sw.js"),
  store: () => mark([]).then(() => true),
  durable: () => here.storage.persist(),
  wake: () => here.wakeLock.request("screen").then((lock) => lock.release().then(() => true)),
  sound: () => AudioContext,
  vibrate: () => here.vibrate,
  clock: () => probe(3).then(knowledge).then((known) => known.offset_ms !== null && [true, `${seconds(known.offset_ms)} ± ${seconds(known.error_ms)}`]),
  battery: () => here.getBattery().then((found) => [found.charging || found.level > 0.2, `${Math.round(found.level * 100)} %`]),
  waiting: () => rows().then((all) => some(all.filter((row) => !row.refused))),
  refused: () => rows().then((all) => some(all.filter((row) => row.refused))),
  size: () => [Math.min(screen.width, screen.height) >= 600, `${screen.width} × ${screen.height}`],
};

function told({ tap, refused, held }) {
  const item = document.createElement("li"), said = refused ?? held;
  item.textContent = [tap.device_at.slice(11, 19), tap.kind, said?.error, said?.do].filter(Boolean).join(" · ");
  return item;
}

async function look() {
  for (const line of document.querySelectorAll("[data-check]")) {
    delete line.dataset.holds;
    Promise.resolve().then(CHECKS[line.dataset.check]).catch(() => null).then((found) => {
      const [holds, figure] = [found].flat();
      line.dataset.holds = Boolean(holds);
      for (const one of line.querySelectorAll(".figure")) one.textContent = figure || "";
    });
  }
  document.getElementById("taps").replaceChildren(...(await rows()).map(told));
}

document.getElementById("again").addEventListener("click", look);
look();
