// Figures, words and marks without a keyboard, and what a button or a form says by them.
// What a finger has touched is marked so: no push changes it before it has gone into a tap (panels.js).
import { $, $$, at, bodyOf, on, page } from "./dom.js";

let held;

// Plus and minus, held down they run; a touch on the figure takes it as it stands.
function move(step) {
  const stepper = step.closest(".stepper"), { dataset } = stepper, value = Number(dataset.value) + Number(step.dataset.by);
  dataset.value = $("output", stepper).textContent = Number(Math.min(dataset.most, Math.max(dataset.least, value)).toFixed(2));
  press($(".step-value", stepper), true);
}

function press(one, pressed) {
  for (const other of $$("[aria-pressed]", one.parentNode)) other.ariaPressed = false;
  one.ariaPressed = pressed;
  one.parentNode.toggleAttribute("data-touched", pressed);
}

function mark({ dataset }) {
  const states = dataset.states.split(" ");
  dataset.value = states[(states.indexOf(dataset.value) + 1) % states.length];
  dataset.touched = "";
}

// What was moved or touched within an element goes into a tap, and is taken back from the page.
function gathered(root) {
  const said = {};
  for (const one of $$("[data-touched] > [aria-pressed=true]", root)) {
    const { name, value, list, unit } = one.closest("[data-name]").dataset;
    said[name] = list ? [value] : one.matches(".say") ? value : Number(value);
    if (unit) said[name.replace("dose", "unit")] = unit;
  }
  for (const one of $$("[data-touched]:not(details)", root)) delete one.dataset.touched;
  for (const one of $$("[aria-pressed]", root)) one.ariaPressed = one.matches(".given");
  return said;
}

function filled(form) {
  const said = {}, pieces = $$(".piece", form), { more } = form;
  for (const { name, value, type, dataset } of form.elements) {
    if (!name || name === "more" || value === (dataset.first ?? "")) continue;
    if (dataset.list) said[name] = value.split(",").map((part) => part.trim()).filter(Boolean);
    else said[name] = type === "number" ? Number(value) : dataset.offset ? new Date(value + dataset.offset).toISOString() : value;
  }
  for (const state of ["there", "missing", "expired"]) {
    const name = form.dataset[state];
    if (name) said[name] = pieces.filter((one) => one.dataset.value === state).map((one) => one.dataset.code);
  }
  if (more) said.found = (said.expected = pieces.length + Number(more.value)) - said.lost.length;
  return { ...said, ...gathered(form) };
}

// The body of a tap; null when it is one of figures and none was given.
export function saidBy(one) {
  const said = one.matches("form") ? filled(one) : one.dataset.with ? gathered($(`#${one.dataset.with}`)) : {};
  if (one.dataset.figures && !Object.keys(said).some((name) => name !== "why")) return null;
  return { ...bodyOf(one), ...said };
}

// A push draws panels without the register's names, and with a coach that is folded.
function complete() {
  for (const one of $$("select.anyone:not([data-touched])")) {
    if (!one[1]) one.append($("#everyone").content.cloneNode(true));
    one.dataset.touched = "";
  }
  for (const one of $$(`.aloud[data-p="${$("[data-coach]")?.dataset.coach}"]:not([data-touched])`)) one.open = true;
}

if (page.station) {
  at("click", ".step", move);
  at("click", ".say, .step-value", (one) => press(one, one.ariaPressed !== "true" || one.matches(".given")));
  at("click", ".piece", mark);
  at("pointerdown", ".step", (step) => { held = setTimeout(() => { held = setInterval(move, 90, step); }, 450); });
  on("pointerup pointercancel pointerleave", () => { clearTimeout(held); clearInterval(held); });
  on("placed", complete);
  complete();
}
