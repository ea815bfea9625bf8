// Every tap becomes an entry here, is kept on the tablet, and goes out through the outbox.
import { probe } from "./clock_offset.js";
import { face, momentOf } from "./clocks.js";
import { $, $$, at, on, page, say } from "./dom.js";
import { entry } from "./outbox/entry.js";
import { flush } from "./outbox/send.js";
import { keep, mark, rows } from "./outbox/store.js";
import { saidBy } from "./said.js";

const DOUBLE_MS = 700, UNDO_MS = 10000;
let last = [], undoTimer;

// Several people, or taps to put right, in one touch are one entry each.
export async function tapped(kind, of, body) {
  const each = ["p", "ref"].find((name) => Array.isArray(body[name]));
  const taps = each ? body[each].map((one) => entry(kind, of, { ...body, [each]: one })) : [entry(kind, of, body)];
  for (const tap of taps) await keep(tap);
  flush();
  return taps;
}

// What was tapped last can be taken back or set back by a tap of its own.
function offerUndo(taps, label) {
  const moment = momentOf(taps[0]), ref = taps.map((tap) => tap.id);
  say("#undo", label);
  $(".undo-at").textContent = face(moment);
  for (const { dataset } of $$("#undo button")) {
    const moved = dataset.min && { at: new Date(moment - dataset.min * 60000).toISOString() };
    Object.assign(dataset, { case: taps[0].case, body: JSON.stringify({ ref, why: dataset.why, ...moved }) });
  }
  clearTimeout(undoTimer);
  undoTimer = setTimeout(say, UNDO_MS, "#undo");
}

async function touched(one, event) {
  event.preventDefault();
  const { kind, case: of, body: offer } = one.dataset, now = performance.now(), [button, tap, moment] = last;
  // A wet glove's double contact is one tap; the button may have become the next step already, or been drawn anew.
  if ((one === button || kind + of + offer === tap) && now - moment < DOUBLE_MS) return;
  const body = saidBy(one), label = $(".tap-label", one)?.textContent.trim(), sheet = one.closest(".closes");
  if (!body) return;
  last = [one, kind + of + offer, now];
  if (sheet) sheet.popover ? sheet.hidePopover() : sheet.open = false;
  const taps = await tapped(kind, of, body);
  if (kind === "tap.void") say("#undo");
  else if (label) offerUndo(taps, label);
  else if (body.at) $(".undo-at").textContent = face(body.at);
}

// A tap that waits or was not taken, in a line.
export function line({ tap, refused, held }) {
  const item = document.createElement("li"), said = refused ?? held;
  item.textContent = [face(tap.device_at), tap.kind, said?.error, said?.do].filter(Boolean).join(" · ");
  return item;
}

const unseen = async () => (await rows()).filter((row) => row.refused && !row.seen && row.tap.station === page.station);

async function showRefused() {
  const found = await unseen();
  $("#refused").hidden = !found.length;
  $("#refused ul").replaceChildren(...found.map(line));
}

async function seeRefused() {
  await mark((await unseen()).map((row) => ({ ...row, seen: true })));
  showRefused();
}

function onNews({ detail: { waiting, refused } }) {
  if (refused?.length) showRefused();
  if (!waiting) return;
  page.waiting = waiting.length;
  say(".link-waiting", waiting.length);
  say(".link-held", waiting.filter((row) => row.held).length);
}

if (page.station) {
  at("click", "button[data-kind]", touched);
  at("submit", "form[data-kind]", touched);
  at("click", "#refused button", seeRefused);
  on("outbox", onNews);
  on("online focus pageshow visibilitychange answers", flush);
  probe().then(flush);
  showRefused();
}
