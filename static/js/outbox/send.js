// Sends what waits, oldest first, one sender over all tabs. Nothing leaves the outbox before the server has stored it.
import { drop, mark, waiting } from "./store.js";

const MOST = 200;
let running = false, again = false, wait = 1000, timer = null;
const watchers = new Set();

export const watch = (see) => watchers.add(see);
const tell = (news) => watchers.forEach((see) => see(news));

async function once() {
  let most = MOST;
  for (;;) {
    const rows = (await waiting()).filter((row) => !row.refused);
    tell({ waiting: rows.length });
    if (!rows.length) return true;
    const batch = rows.slice(0, most), more = rows.length > batch.length;
    let response, answer;
    try {
      response = await fetch("/api/entries", {
        method: "POST", headers: { "content-type": "application/json" }, signal: AbortSignal.timeout(8000),
        body: JSON.stringify({ entries: batch.map((row) => row.tap), more }),
      });
      answer = await response.json();
    } catch {
      return false;
    }
    if (!Array.isArray(answer.results)) {
      if (response.status === 413 && batch.length > 1) { most = Math.ceil(batch.length / 2); continue; }
      if (response.status === 413) await mark([{ ...batch[0], refused: answer }]);
      return false; // not paired just now, busy, or failing: everything is kept and tried again
    }
    const done = [], refused = [];
    answer.results.forEach((result, i) => {
      if (result.status !== "refused") done.push(batch[i].n);
      else if (![401, 403, 408, 425, 429].includes(result.code) && result.code < 500) refused.push({ ...batch[i], refused: result });
    });
    await drop(done);
    await mark(refused);
    tell({ refused });
    if (!done.length && !refused.length) return false;
  }
}

export async function flush() {
  if (running) { again = true; tell({ waiting: (await waiting()).filter((row) => !row.refused).length }); return; }
  running = true;
  clearTimeout(timer);
  let ok = false;
  try {
    do {
      again = false;
      ok = navigator.locks ? await navigator.locks.request("doorside-outbox", once) : await once();
    } while (again && ok);
  } catch (error) {
    console.warn("outbox", error);
  } finally {
    running = false;
  }
  wait = ok ? 1000 : Math.min(wait * 2, 15000);
  if (!ok) timer = setTimeout(flush, wait * (0.75 + Math.random() / 2));
}
