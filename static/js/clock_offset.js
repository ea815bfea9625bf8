// How far this tablet's clock is off the server's, and how sure that is. Best of several questions, as NTP does.
const DRIFT = 50e-6; // a cheap crystal gains or loses at most this share of the time since it was last compared
const steady = () => performance.now(), gap = () => Date.now() - steady();
let known;

export async function probe(times = 6) {
  let best = known;
  for (let i = 0; i < times; i += 1) {
    const t1 = Date.now(), s1 = steady(), signal = AbortSignal.timeout(3000);
    const answer = await fetch("/api/time", { cache: "no-store", signal }).then((found) => found.json()).catch(() => null);
    if (!answer) break;
    const { t2, t3 } = answer, round = steady() - s1, delay = Math.max(0, round - (t3 - t2));
    if (best !== known && delay >= best.delay) continue;
    best = { delay, offset_ms: (t2 - t1 + (t3 - t1 - round)) / 2, at: steady(), gap: gap() };
  }
  known = best;
}

// Null for both while the server was never reached: such a tap is dated by its arrival.
export function knowledge() {
  if (!known) return { offset_ms: null, error_ms: null };
  const { offset_ms, delay, at } = known, slept = Math.abs(gap() - known.gap); // they part when it sleeps or is set
  if (slept > 50) probe();
  return { offset_ms, error_ms: delay / 2 + 1 + DRIFT * (steady() - at) + slept };
}

export const serverNow = () => Date.now() + (known?.offset_ms ?? 0);
