// Makes one entry: its id, the time on this tablet's clock, and what is known of that clock's error.
import { knowledge } from "../clock_offset.js";
import { page } from "../dom.js";

// UUIDv7, by hand: what browsers bring along works in a secure context only.
export function uuid7() {
  const hex = (n, digits = 4) => n.toString(16).padStart(digits, "0"), time = hex(Date.now(), 12);
  const [a, b, ...rest] = crypto.getRandomValues(new Uint16Array(5));
  const last = rest.map((n) => hex(n)).join("");
  return [time.slice(0, 8), time.slice(8), hex(0x7000 | (a & 0xfff)), hex(0x8000 | (b & 0x3fff)), last].join("-");
}

export function entry(kind, of, said) {
  const id = uuid7(), body = { ...said };
  if (["req.new", "req.in"].includes(kind)) body.q ||= `q${id.slice(-8)}`; // a name of its own, also when two ask at once
  return {
    id, case: of, kind, body, role: null, person: page.person ?? null, station: page.station, counter: 0,
    device_at: new Date().toISOString(), ...knowledge(),
  };
}
