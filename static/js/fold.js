// While own taps wait, the page goes on by itself: done, running, next, asked. What the server draws afterwards replaces it.
// The order of the steps and what starts a clock come from the server (panels ahead, running); the taps from the outbox.
import { drawClocks, face, momentOf } from "./clocks.js";
import { $, $$, bodyOf, on, page } from "./dom.js";
import { rows } from "./outbox/store.js";
import { restore } from "./panels.js";

const PANELS = ["next", "clock", "steps", "asks"], PATIENCE_MS = 2000;
let acked = [], folded = "";

const fits = (wanted, { body }) => Object.entries(wanted).every(([name, value]) => name === "n" || body[name] === value);
const offered = (tap, within) => $$(`${within} [data-kind="${tap.kind}"]`).filter((button) => fits(bodyOf(button), tap));
const isLive = () => $("#link").dataset.state === "live";
const waits = (place, at) => { place.dataset.waits = `${face(at).slice(0, 5)} ${page.waits}`; };
const since = (place, at) => { place.innerHTML = `<time class="since" data-since="${new Date(at).toISOString()}"></time>`; };

// Taps of this screen and case that the server's picture does not show yet, at their times, what was undone left out.
function standing(kept) {
  const taps = [...acked, ...kept].filter((tap) => tap.case === page.cases && tap.station === page.station), mended = {};
  for (const { kind, body } of taps) if (kind.startsWith("tap.")) mended[body.ref] = kind === "tap.fix" && Date.parse(body.at);
  return taps.filter((tap) => mended[tap.id] !== false).map((tap) => ({ ...tap, at: mended[tap.id] ?? momentOf(tap) }));
}

// Of a step that stands twice on the line, a tap is the nearer one. What no tap moves on stays: a rescue step, say.
function next(taps) {
  const tries = taps.filter(({ kind }) => /^scope|^tube.passed/.test(kind)), last = tries.at(-1);
  const all = $$("#ahead > :not([data-again])"), here = Number($("#next").dataset.place);
  const past = (place, tap) => Math.max(place, 1 + all.reduce((near, { dataset: { is, kind } }, n) => (
    kind === tap.kind && Math.abs(n - place) < Math.abs(near - place) && fits(JSON.parse(is), tap) ? n : near), -Infinity));
  const to = taps.reduce(past, here), again = last?.kind === "scope.end" && last.body.result !== "tube" && $("#ahead [data-again]");
  if (!again && to === here && !taps.some((tap) => offered(tap, "#next")[0])) return;
  const before = Number($('[data-figure="scope.n"] .figure-large').textContent) || 0; // attempts that the server knows of
  const started = Math.max(before, ...tries.map(({ body }) => body.n ?? 0));
  $("#next").replaceChildren(...(again || all[to]).cloneNode(true).childNodes);
  for (const button of $$('#next [data-kind^="scope."]')) {
    button.dataset.body = JSON.stringify({ ...bodyOf(button), n: started + (button.dataset.kind === "scope.start") });
  }
}

function clock(taps) {
  for (const { dataset, textContent } of $$("#running > *")) {
    const turns = JSON.parse(dataset.turns); // true for what starts it, false for what ends it
    let at = Date.parse(dataset.since);
    for (const tap of taps) {
      const starts = turns[tap.kind] ?? turns[`${tap.kind} ${tap.body.class}`];
      if (starts === false) at = NaN;
      if (starts && !(dataset.first && at)) at = tap.at;
    }
    if (!at) continue;
    $("#clock .caption").textContent = textContent;
    since($("#clock .time-huge"), at);
    break;
  }
}

// Each tap where it shows: its button among the steps, its figures, its line among what was asked for.
function show(tap) {
  const family = tap.kind.split(".")[0];
  for (const button of offered(tap, "#steps")) {
    button.classList.add("done");
    waits(button, tap.at);
  }
  for (const [name, value] of Object.entries(tap.body)) {
    const figure = $(`[data-figure="${family}.${name}"]`);
    if (!figure) continue;
    $(".figure-large", figure).textContent = value + figure.dataset.unit;
    since($(".age", figure), tap.at);
    waits($(".age", figure), tap.at);
  }
  const doubtful = $("#clock [data-doubt]"); // what it is now only the server works out
  if (doubtful.dataset.doubt.split(" ").includes(family)) doubtful.innerHTML = '<p class="figure-words">–</p>';
  if (family === "req") asked(tap, offered(tap, "#asks .choices"));
  const mended = family === "tap" && $(`#mend-${tap.body.ref} p`);
  if (mended) waits(mended, tap.at);
}

function asked({ kind, body: { q, item }, at }, choices) {
  if (kind === "req.new" && !$(`#asked-${q}`)) {
    $("#asks .caption").insertAdjacentHTML("afterend", $("#asked-line").innerHTML.replaceAll("%q", q));
    $(`#asked-${q} b`).textContent = item;
    for (const button of choices) button.hidden = true;
  }
  const line = $(`#asked-${q}`), said = line && $(`[data-kind="${kind}"] .tap-label`, line);
  if (line) waits($("p", line), at);
  if (!said) return;
  $(".state", line).textContent = said.textContent;
  $("div", line).hidden = true;
}

async function fold() {
  const kept = (await rows()).filter((row) => !row.refused).map((row) => row.tap);
  const taps = standing(kept), late = kept.some((tap) => Date.now() - Date.parse(tap.device_at) > PATIENCE_MS);
  const shows = !isLive() || late || (folded && acked.length) ? taps.map((tap) => tap.id + tap.at).join() : "";
  if (shows === folded) return; // what a finger has set meanwhile stays
  if (folded) restore(PANELS);
  folded = shows;
  if (!shows) return;
  next(taps);
  clock(taps);
  taps.forEach(show);
  drawClocks();
}

// What was taken stays folded in until the server's picture shows it.
function onNews({ detail: { waiting, done } }) {
  if (done?.length) {
    acked.push(...done.map((row) => row.tap));
    setTimeout(() => { if (isLive()) { acked = []; fold(); } }, PATIENCE_MS);
  }
  if (waiting || done) fold();
}

if ($("#ahead")) {
  on("outbox", onNews);
  on("link", fold);
  on("pushed", () => {
    acked = [];
    if (folded) folded = "overdrawn";
    fold();
  });
}
