// While own taps wait, the page goes on by itself: done, running, next, asked. What the server draws afterwards replaces it.
// The order of the steps and what starts a clock come from the server (panels ahead, running); the taps from the outbox.
import { drawClocks } from "./clocks.js";
import { linkState, restore } from "./link.js";
import { rows } from "./outbox/store.js";

const PANELS = ["next", "clock", "steps", "vitals", "asks"], PATIENCE_MS = 2000;
const AIRWAY = /^(scope|tube|sga|fona|co2|drug|ext|tr)\./, TRIES = ["scope.start", "scope.end", "tube.passed"];
const body = document.body.dataset, $ = (where) => document.querySelector(where), $$ = (where) => [...document.querySelectorAll(where)];
let acked = [], turn = 0, folded = "", quiet = false, late = false;

const fits = ([kind, wanted], tap) => kind === tap.kind && Object.entries(wanted).every(([name, value]) => name === "n" || tap.body[name] === value);
const said = (button) => ({ kind: button.dataset.kind, body: JSON.parse(button.dataset.body) });
const offers = (button, tap) => fits(Object.values(said(button)), tap);

// Taps of this screen and case that the server's picture does not show yet, in order, what was undone left out.
async function standing() {
  const own = (await rows()).filter((row) => !row.refused).map((row) => row.tap);
  late = own.some((tap) => Date.now() - Date.parse(tap.device_at) > PATIENCE_MS);
  const taps = [...acked, ...own].filter((tap) => tap.case === body.cases && tap.station === body.station);
  const undone = taps.filter((tap) => tap.kind === "tap.void").map((tap) => tap.body.ref);
  const moved = Object.fromEntries(taps.filter((tap) => tap.kind === "tap.fix").map((tap) => [tap.body.ref, Date.parse(tap.body.at)]));
  return taps.filter((tap) => !undone.includes(tap.id)).map((tap) => ({ ...tap, at: moved[tap.id] || Date.parse(tap.device_at) + (tap.offset_ms ?? 0) }));
}

function waits(place, at) {
  const mark = $("#waits").content.cloneNode(true);
  if (at) mark.querySelector("time").textContent = new Date(at).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit", timeZone: body.zone });
  place.querySelector(".waits")?.remove();
  place.append(mark);
}

function since(place, at) {
  const time = Object.assign(document.createElement("time"), { className: "since" });
  time.dataset.since = new Date(at).toISOString();
  place.replaceChildren(time);
}

function steps(taps) {
  for (const tap of taps) for (const button of $$("#steps button.tap").filter((one) => offers(one, tap))) {
    button.classList.add("done");
    button.querySelector(":scope > time")?.remove();
    waits(button, tap.at);
  }
}

function next(taps) {
  const all = $$("#ahead > :not([data-again])"), shown = $("#next .tap-next"), attempt = $('#clock [data-of="attempt"] .figure-large');
  const place = (tap) => all.findIndex((one) => one.dataset.is && fits(JSON.parse(one.dataset.is), tap));
  const here = shown ? place(said(shown)) : all.length - 1;
  let chosen = all[Math.min(Math.max(here, ...taps.map((tap) => place(tap) + 1)), all.length - 1)];
  const tries = taps.filter((tap) => TRIES.includes(tap.kind)), last = tries.at(-1);
  const started = Math.max(Number(attempt.textContent) || 0, ...tries.map((tap) => tap.body.n ?? 0));
  if (last?.kind === "scope.end" && last.body.result !== "tube") chosen = $("#ahead [data-again]") ?? chosen;
  $("#next").replaceChildren(...chosen.cloneNode(true).childNodes);
  for (const button of $$('#next [data-kind^="scope."]')) {
    button.dataset.body = JSON.stringify({ ...said(button).body, n: started + (button.dataset.kind === "scope.start") });
  }
  if (!last) return;
  attempt.textContent = started;
  attempt.nextElementSibling.textContent = "";
  waits(attempt.nextElementSibling);
}

function clock(taps) {
  for (const li of $("#running").children) {
    const starts = JSON.parse(li.dataset.starts), ends = JSON.parse(li.dataset.ends);
    let at = Date.parse(li.dataset.since);
    for (const tap of taps) {
      if (ends.some((one) => fits(one, tap))) at = NaN;
      if (starts.some((one) => fits(one, tap)) && !(li.dataset.first && at)) at = tap.at;
    }
    if (!at) continue;
    $("#clock .caption").textContent = li.textContent;
    since($("#clock .time-huge"), at);
    break;
  }
  if (!taps.some((tap) => AIRWAY.test(tap.kind))) return;
  $('#clock [data-of="airway"] .figure-words').textContent = "–"; // what it is now only the server works out
  $('#clock [data-of="airway"] .age')?.remove();
}

function figures(taps) {
  for (const tap of taps) for (const [name, value] of Object.entries(tap.body)) {
    const stepper = $(`#figures-${tap.kind.replace(".", "-")} [data-name="${name}"]`), cell = tap.kind === "vitals" && $(`#clock [data-of="${name}"]`);
    if (stepper && !("touched" in stepper.dataset)) stepper.querySelector("output").textContent = stepper.dataset.value = value;
    if (!cell) continue;
    cell.querySelector(".figure-large").textContent = `${value} ${cell.dataset.unit}`;
    since(cell.querySelector(".age"), tap.at);
    waits(cell.querySelector(".age"));
  }
}

function asks(taps) {
  for (const tap of taps.filter((one) => one.kind.startsWith("req."))) {
    let line = document.getElementById(`asked-${tap.body.q}`);
    if (tap.kind === "req.new" && !line) {
      line = $("#asked-line").content.firstElementChild.cloneNode(true);
      line.id = `asked-${tap.body.q}`;
      line.querySelector("b").textContent = tap.body.item;
      for (const button of line.querySelectorAll("button")) Object.assign(button.dataset, { case: tap.case, body: JSON.stringify({ q: tap.body.q }) });
      $("#asks .caption").after(line);
      for (const button of $$('#asks .choices [data-kind="req.new"]')) button.hidden ||= offers(button, tap);
    } else if (line && tap.kind !== "req.new") {
      line.querySelector(".state").textContent = line.querySelector(`[data-kind="${tap.kind}"] .tap-label`)?.textContent ?? tap.kind;
      line.querySelector("div").hidden = true;
    }
    if (line) waits(line.querySelector("p"), tap.at);
  }
}

async function fold() {
  const mine = turn += 1, taps = await standing();
  if (mine !== turn) return; // a later call has begun
  const cut = linkState().state !== "live" || late || (folded && acked.length);
  const shows = taps.length && cut ? JSON.stringify(taps.map((tap) => [tap.id, tap.at])) : "";
  if (shows === folded) return; // what a finger has set meanwhile stays
  if (folded) { quiet = true; restore(PANELS); quiet = false; }
  folded = shows;
  if (!folded) return;
  for (const part of [next, steps, clock, figures, asks]) part(taps);
  drawClocks();
}

// Called with what the outbox tells: what was taken stays folded in until the server's picture shows it.
export function foldNews({ waiting, done }) {
  if (!$("#ahead")) return;
  if (done?.length) {
    acked.push(...done.map((row) => row.tap));
    setTimeout(() => { if (linkState().state === "live") { acked = []; fold(); } }, PATIENCE_MS);
  }
  if (waiting || done) fold();
}

export function startFold() {
  if (!$("#ahead")) return;
  document.addEventListener("doorside:link", fold);
  document.addEventListener("doorside:placed", () => {
    if (quiet) return;
    acked = [];
    if (folded) folded = "overdrawn";
    fold();
  });
}
