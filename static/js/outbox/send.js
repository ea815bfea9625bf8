// Sends what waits, oldest first, one sender over all tabs. Nothing leaves the outbox before the server has stored it.
import { drop, mark, rows } from "./store.js";

const MOST = 200, UNPAIRED = [401, 403, 410], LATER = [...UNPAIRED, 408, 425, 429];
let running = false, again = false, wait = 1000, timer = null;
const watchers = new Set();

// A watcher is told { waiting: rows }, { done: rows }, { refused: rows }, { unpaired: the server's answer or null }.
export const watch = (see) => watchers.add(see);
const tell = (news) => watchers.forEach((see) => see(news));
const open = async () => (await rows()).filter((row) => !row.refused);

async function once() {
  let most = MOST;
  for (;;) {
    const waiting = await open();
    tell({ waiting });
    if (!waiting.length) return true;
    const batch = waiting.slice(0, most), more = waiting.length > batch.length;
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
      if (UNPAIRED.includes(response.status)) tell({ unpaired: answer });
      if (response.status === 413 && batch.length > 1) { most = Math.ceil(batch.length / 2); continue; }
      if (response.status === 413) await mark([{ ...batch[0], refused: answer }]);
      return false; // not paired just now, busy, or failing: everything is kept and tried again
    }
    const done = [], refused = [], held = [];
    let unpaired = null;
    answer.results.forEach((result, i) => {
      const row = batch[i], later = LATER.includes(result.code) || result.code >= 500;
      if (result.status === "held") held.push({ ...row, held: result }); // for a lead at the desk to take or refuse
      else if (result.status !== "refused") done.push(row);
      else if (!later) refused.push({ ...row, refused: result });
      else if (UNPAIRED.includes(result.code)) unpaired ??= result;
    });
    await drop(done.map((row) => row.n));
    await mark([...refused, ...held.filter((row) => !batch.find((one) => one.n === row.n).held)]);
    tell({ done, refused, unpaired });
    if (!done.length && !refused.length) { tell({ waiting: await open() }); return false; }
  }
}

export async function flush() {
  if (running) { again = true; tell({ waiting: await open() }); return; }
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
