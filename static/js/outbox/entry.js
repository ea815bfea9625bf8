// Makes one entry: its id, the time on this tablet's clock, and what is known of that clock's error.
import { knowledge } from "../clock_offset.js";

export function uuid7(ms = Date.now()) {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  for (let i = 0; i < 6; i += 1) bytes[i] = Math.floor(ms / 2 ** (8 * (5 - i))) & 255;
  bytes[6] = 0x70 | (bytes[6] & 15);
  bytes[8] = 0x80 | (bytes[8] & 63);
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-${hex.slice(12, 16)}-${hex.slice(16, 20)}-${hex.slice(20)}`;
}

export function entry(kind, caseId, body, role = null) {
  const id = uuid7(), full = { ...body };
  if (["req.new", "req.in"].includes(kind) && !full.q) full.q = `q${id.slice(-8)}`; // a name of its own, also when two ask at once
  return {
    id, case: caseId, kind, body: full, role, person: document.body.dataset.person ?? null,
    station: document.body.dataset.station, counter: 0,
    device_at: new Date().toISOString(), ...knowledge(),
  };
}
