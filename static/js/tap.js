// Every tap of a live page becomes an entry here, is kept on the tablet, and goes out through the outbox.
import { probe } from "./clock_offset.js";
import { entry } from "./outbox/entry.js";
import { flush, watch } from "./outbox/send.js";
import { drop, keep, waiting } from "./outbox/store.js";

const DOUBLE_MS = 700, UNDO_MS = 10000;
let lastKey = "", lastAt = 0, lastButton = null, undoTimer = null;

export async function tapped(kind, caseId, body, label) {
  const key = JSON.stringify([kind, caseId, body]), now = performance.now();
  if (key === lastKey && now - lastAt < DOUBLE_MS) return null; // a wet glove's double contact is one tap
  [lastKey, lastAt] = [key, now];
  const tap = entry(kind, caseId, body);
  await keep(tap);
  if (kind !== "tap.void") offerUndo(tap, label);
  flush();
  return tap;
}

function offerUndo(tap, label) {
  const bar = document.getElementById("undo");
  if (!bar || !label) return;
  bar.querySelector(".undo-what").textContent = label;
  bar.querySelector(".undo-at").textContent = new Date().toLocaleTimeString([], { hour12: false });
  bar.hidden = false;
  bar.querySelector(".undo-button").onclick = () => {
    bar.hidden = true;
    tapped("tap.void", tap.case, { ref: tap.id, why: "undone at once" }, "");
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
  if (button.dataset.stepper) {
    const stepper = document.getElementById(`stepper-${button.dataset.stepper}`);
    body[button.dataset.stepper] = Number(stepper.dataset.value);
    delete stepper.dataset.touched;
  }
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

async function showRefused() {
  const box = document.getElementById("refused");
  if (!box) return;
  const rows = (await waiting()).filter((row) => row.refused && row.tap.station === document.body.dataset.station);
  const list = box.querySelector("ul"), line = document.getElementById("refused-line");
  list.replaceChildren(...rows.map((row) => {
    const item = line.content.cloneNode(true);
    item.querySelector("b").textContent = row.tap.kind;
    item.querySelector("span").textContent = [row.refused.error, row.refused.do].filter(Boolean).join(" ");
    return item;
  }));
  box.hidden = !rows.length;
  box.querySelector("button").onclick = async () => { await drop(rows.map((row) => row.n)); showRefused(); };
}

export function startTaps() {
  document.addEventListener("click", onClick);
  document.addEventListener("submit", onSubmit);
  watch((news) => {
    if (news.waiting !== undefined) {
      const badge = document.querySelector(".link-waiting");
      if (badge) { badge.hidden = news.waiting === 0; badge.querySelector(".link-count").textContent = news.waiting; }
    }
    if (news.refused?.length) showRefused();
  });
  for (const wake of ["online", "focus", "pageshow"]) window.addEventListener(wake, flush);
  document.addEventListener("visibilitychange", flush);
  probe().then(flush);
  showRefused();
}
