// Every tap of a live page becomes an entry here, is kept on the tablet, and goes out through the outbox.
import { probe } from "./clock_offset.js";
import { foldNews, startFold } from "./fold.js";
import { unpaired } from "./link.js";
import { entry } from "./outbox/entry.js";
import { flush, watch } from "./outbox/send.js";
import { keep, mark, rows } from "./outbox/store.js";
import { gathered } from "./steppers.js";

const DOUBLE_MS = 700, UNDO_MS = 10000;
let lastKey = "", lastAt = 0, lastButton = null, undoTimer = null;

export async function tapped(kind, caseId, body, label) {
  const key = JSON.stringify([kind, caseId, body]), now = performance.now();
  if (key === lastKey && now - lastAt < DOUBLE_MS) return null; // a wet glove's double contact is one tap
  [lastKey, lastAt] = [key, now];
  // Several people in one tap are one entry each.
  const taps = (Array.isArray(body.p) ? body.p.map((p) => ({ ...body, p })) : [body]).map((one) => entry(kind, caseId, one));
  for (const tap of taps) await keep(tap);
  if (kind !== "tap.void") offerUndo(taps, label);
  flush();
  return taps[0];
}

const momentOf = (tap, minutes = 0) => new Date(Date.parse(tap.device_at) + (tap.offset_ms ?? 0) - minutes * 60000);

function offerUndo(taps, label) {
  const bar = document.getElementById("undo");
  if (!bar || !label) return;
  bar.querySelector(".undo-what").textContent = label;
  bar.querySelector(".undo-at").textContent = new Date().toLocaleTimeString([], { hour12: false });
  bar.hidden = false;
  bar.querySelector(".undo-button").onclick = () => {
    bar.hidden = true;
    for (const tap of taps) tapped("tap.void", tap.case, { ref: tap.id, why: "undone at once" }, "");
  };
  for (const ago of bar.querySelectorAll(".ago")) ago.onclick = () => {
    for (const tap of taps) tapped("tap.fix", tap.case, { ref: tap.id, at: momentOf(tap, ago.dataset.min).toISOString(), why: "back-dated" }, "");
    bar.querySelector(".undo-at").textContent = momentOf(taps[0], ago.dataset.min).toLocaleTimeString([], { hour12: false });
  };
  clearTimeout(undoTimer);
  undoTimer = setTimeout(() => { bar.hidden = true; }, UNDO_MS);
}

function formBody(form) {
  const body = JSON.parse(form.dataset.body);
  for (const field of form.elements) {
    if (!field.name || field.value === "") continue;
    if (field.type === "number") body[field.name] = Number(field.value);
    else if (field.dataset.list) body[field.name] = field.value.split(",").map((part) => part.trim()).filter(Boolean);
    else body[field.name] = field.value;
  }
  return body;
}

function onClick(event) {
  const button = event.target.closest("button.tap[data-kind]");
  if (!button) return;
  // The button may have become the next step already when a wet glove touches it for the second time.
  if (button === lastButton && performance.now() - lastAt < DOUBLE_MS) return;
  lastButton = button;
  const body = JSON.parse(button.dataset.body);
  const said = button.dataset.with ? gathered(document.getElementById(button.dataset.with)) : {};
  if (button.dataset.figures && !Object.keys(said).length) return; // nothing was moved or touched
  Object.assign(body, said);
  button.closest(".closes")?.hidePopover();
  button.classList.add("pressed");
  setTimeout(() => button.classList.remove("pressed"), 400);
  tapped(button.dataset.kind, button.dataset.case, body, button.querySelector(".tap-label")?.textContent.trim() ?? "");
}

function onSubmit(event) {
  const form = event.target.closest("form.tap-form");
  if (!form) return;
  event.preventDefault();
  tapped(form.dataset.kind, form.dataset.case, formBody(form), form.querySelector(".tap-label").textContent.trim());
}

function showWaiting(waiting) {
  const badge = document.querySelector(".link-waiting"), held = waiting.filter((row) => row.held).length;
  document.body.dataset.waiting = waiting.length;
  if (!badge) return;
  badge.hidden = !waiting.length;
  badge.querySelector(".link-count").textContent = waiting.length;
  badge.querySelector(".link-held").hidden = !held;
  badge.querySelector(".link-held b").textContent = held;
}

async function showRefused() {
  const box = document.getElementById("refused");
  if (!box) return;
  const found = (await rows()).filter((row) => row.refused && !row.seen && row.tap.station === document.body.dataset.station);
  const list = box.querySelector("ul"), line = document.getElementById("refused-line");
  list.replaceChildren(...found.map((row) => {
    const item = line.content.cloneNode(true);
    item.querySelector("b").textContent = row.tap.kind;
    item.querySelector("span").textContent = [row.refused.error, row.refused.do].filter(Boolean).join(" ");
    return item;
  }));
  box.hidden = !found.length;
  box.querySelector("button").onclick = async () => { await mark(found.map((row) => ({ ...row, seen: true }))); showRefused(); };
}

export function startTaps() {
  document.addEventListener("click", onClick);
  document.addEventListener("submit", onSubmit);
  watch((news) => {
    if (news.waiting) showWaiting(news.waiting);
    if (news.refused?.length) showRefused();
    unpaired(news.unpaired);
    foldNews(news);
  });
  for (const wake of ["online", "focus", "pageshow"]) window.addEventListener(wake, flush);
  document.addEventListener("visibilitychange", flush);
  startFold();
  probe().then(flush);
  showRefused();
}
