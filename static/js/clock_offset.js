// How far this tablet's clock is off the server's, and how sure that is. Best of several questions, as NTP does.
const DRIFT = 50e-6; // a cheap crystal gains or loses at most this share of the time since it was last compared

let known = null; // { offset_ms, error_ms, at }

const wall = () => Date.now();
const steady = () => performance.now();

export async function probe(times = 6) {
  let best = null;
  for (let i = 0; i < times; i += 1) {
    const t1 = wall(), s1 = steady();
    let answer;
    try {
      const response = await fetch("/api/time", { cache: "no-store", signal: AbortSignal.timeout(3000) });
      answer = await response.json();
    } catch {
      break;
    }
    const round = steady() - s1, t4 = t1 + round;
    const delay = Math.max(0, round - (answer.t3 - answer.t2));
    const offset = ((answer.t2 - t1) + (answer.t3 - t4)) / 2;
    if (!best || delay < best.delay) best = { delay, offset_ms: offset, error_ms: delay / 2 + 1, at: steady(), gap: wall() - steady() };
  }
  if (best) known = best;
  return known;
}

// Null for both while the server was never reached: such a tap is dated by its arrival.
export function knowledge() {
  if (!known) return { offset_ms: null, error_ms: null };
  const slept = Math.abs(wall() - steady() - known.gap); // the two clocks part when the machine sleeps or is set
  if (slept > 50) probe();
  const error = known.error_ms + DRIFT * (steady() - known.at) + slept;
  return { offset_ms: round3(known.offset_ms), error_ms: round3(error) };
}

export const serverNow = () => wall() + (known ? known.offset_ms : 0);

const round3 = (value) => Math.round(value * 1000) / 1000;
