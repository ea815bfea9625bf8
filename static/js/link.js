// What comes from the server is put in place without disturbing what is being typed; and whether anything comes is said.
import { drawClocks, ran } from "./clocks.js";
import { serverNow } from "./clock_offset.js";
import { startLine } from "./line.js";
import { keepPicture, wipe } from "./picture.js";

const STALE_MS = 30000, LOST_MS = 3000;
const body = document.body.dataset;
let alive = false, opened = "pictured" in body, heard = Number(body.pictured ?? Date.now());
const drawn = {}; // panels as the server last drew them

export function place(panels) {
  for (const [name, html] of Object.entries(panels)) {
    const old = document.getElementById(name);
    if (old) window.Idiomorph.morph(old, html, { morphStyle: "outerHTML", ignoreActiveValue: typing(), callbacks: { beforeAttributeUpdated: keepOpen } });
  }
  drawClocks();
  document.dispatchEvent(new CustomEvent("doorside:placed", { detail: Object.keys(panels) }));
}

// Puts panels back as the server drew them.
export const restore = (names) => place(Object.fromEntries(names.map((name) => [name, drawn[name]])));

// Only a field that is being filled in is left alone; a button that has the focus must change its words like any other.
const typing = () => document.activeElement?.matches("input, select, textarea") ?? false;

// A reader's own choice stays: what was unfolded, and where a stepper stands, is not the server's to change.
function keepOpen(name, node) {
  if (!node.dataset.touched) return undefined;
  // The mark itself must stay too: without it the next push would show the server's figure over the reader's.
  return ["open", "data-value", "data-touched"].includes(name) ? false : undefined;
}

export function linkState() {
  const silent = Date.now() - heard, lost = opened ? silent > LOST_MS : silent > LOST_MS + 2000;
  return { state: alive ? "live" : lost ? "lost" : "connecting", heard_ms: heard };
}

function show() {
  const badge = document.getElementById("link"), silent = Date.now() - heard, { state } = linkState();
  badge.querySelector(".link-since").textContent = ran(silent);
  document.body.classList.toggle("stale", !alive && silent > STALE_MS && body.page !== "inside");
  if (badge.dataset.state === state) return;
  badge.dataset.state = state;
  document.dispatchEvent(new CustomEvent("doorside:link", { detail: state }));
}

// The words stay until a line stands again: whoever pairs the screen anew loads its page.
export function unpaired(answer) {
  const box = document.getElementById("unpaired");
  if (!box || !answer) return;
  const signIn = document.getElementById("sign-in-now"); // a desk is paired all the same: only its person is missing
  if (answer.reason === "sign-in" && signIn) { signIn.hidden = false; return; }
  wipe();
  document.dispatchEvent(new Event("doorside:pairing"));
  box.querySelector("b").textContent = [answer.error, answer.do].filter(Boolean).join(" ");
  box.hidden = false;
}

export function startLink() {
  for (const name of body.panels.split(" ")) { const one = document.getElementById(name); if (one) drawn[name] = one.outerHTML; }
  document.addEventListener("toggle", (event) => {
    if (event.target instanceof HTMLDetailsElement) event.target.dataset.touched = "1";
  }, true);
  startLine({
    up() {
      [alive, opened, heard] = [true, true, Date.now()];
      document.getElementById("unpaired")?.setAttribute("hidden", "");
      keepPicture(drawn, () => heard);
      show();
    },
    down() { alive = false; show(); },
    drawn: () => drawn,
    panels(panels) { Object.assign(drawn, panels); place(panels); },
    unpaired: () => unpaired({ error: document.getElementById("unpaired")?.dataset.words }),
  });
  setInterval(show, 1000);
}

export { serverNow };
