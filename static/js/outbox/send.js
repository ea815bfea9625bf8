// Sends what waits, oldest first, one sender over all tabs. Nothing leaves the outbox before the server has stored it.
// "outbox" tells the page { waiting: rows }, { done: rows }, { refused: rows } or { unpaired: the server's answer }.
import { UNPAIRED, post, tell } from "../dom.js";
import { drop, mark, rows } from "./store.js";

const MOST = 200, LATER = [408, 425, 429];
let running = false, again = false, wait = 1000, timer;

// What waits for a lead goes last: it holds up nothing else.
async function open() {
  const waiting = (await rows()).filter((row) => !row.refused).sort((a, b) => !!a.held - !!b.held);
  tell("outbox", { waiting });
  return waiting;
}

async function once() {
  for (let most = MOST; ;) {
    const waiting = await open(), batch = waiting.slice(0, most), more = waiting.length > batch.length;
    if (!batch.length) return true;
    const [status, answer] = await post("/api/entries", { entries: batch.map((row) => row.tap), more });
    if (!answer?.results) {
      if (UNPAIRED.includes(status)) tell("outbox", { unpaired: answer });
      if (status !== 413) return false; // not paired just now, busy, or failing: everything is kept and tried again
      most = Math.ceil(batch.length / 2);
      if (batch.length === 1) await mark([{ ...batch[0], refused: answer }]);
      continue;
    }
    const done = [], refused = [], held = [];
    let unpaired;
    answer.results.forEach((result, i) => {
      const row = batch[i], { code } = result;
      if (row.held && result.status === "held") return; // for a lead at the desk to take or refuse
      if (result.status === "held") held.push({ ...row, held: result });
      else if (result.status !== "refused") done.push(row);
      else if (UNPAIRED.includes(code)) unpaired ??= result;
      else if (!LATER.includes(code) && code < 500) refused.push({ ...row, refused: result });
    });
    await drop(done);
    await mark([...refused, ...held]);
    tell("outbox", { done, refused, unpaired });
    if (!done.length && !refused.length) return (await open(), false);
  }
}

export async function flush() {
  again = true;
  await open();
  if (running) return;
  running = true;
  clearTimeout(timer);
  let ok = true;
  try {
    while (again && ok) {
      again = false;
      ok = await (navigator.locks?.request("doorside-outbox", once) ?? once());
    }
  } catch (error) {
    console.warn("outbox", error);
    ok = false;
  }
  running = false;
  wait = ok ? 1000 : Math.min(wait * 2, 15000);
  if (!ok) timer = setTimeout(flush, wait * (0.75 + Math.random() / 2));
}
