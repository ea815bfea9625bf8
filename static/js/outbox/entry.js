// Makes one entry: its id, the time on this tablet's clock, and what is known of that clock's error.
import { knowledge } from "../clock_offset.js";
import { page } from "../dom.js";

const digit = () => (crypto.getRandomValues(new Uint8Array(1))[0] % 16).toString(16);

// UUIDv7, by hand: what browsers bring along works in a secure context only.
export function uuid7() {
  const time = Date.now().toString(16).padStart(12, "0");
  return `${time.slice(0, 8)}-${time.slice(8)}-7xxx-8xxx-xxxxxxxxxxxx`.replace(/x/g, digit);
}

export function entry(kind, of, said) {
  const id = uuid7(), body = { ...said }, device_at = new Date().toISOString(), { person = null, station } = page;
  if (["req.new", "req.in"].includes(kind)) body.q ||= `q${id.slice(-8)}`; // a name of its own, also when two ask at once
  return { id, case: of, kind, body, role: null, person, station, counter: 0, device_at, ...knowledge() };
}
