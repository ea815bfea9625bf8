// The door's page: things are marked on lists, minutes run down, names come from the register, a coach is open at once.
import { serverNow } from "./clock_offset.js";
import { tapped } from "./tap.js";

const all = (what, root = document) => [...root.querySelectorAll(what)];

function mark({ target }) {
  const d = target.closest(".piece")?.dataset, states = d?.states.split(" ");
  if (d) Object.assign(d, { value: states[(states.indexOf(d.value) + 1) % states.length], touched: 1 });
}

function send(event) {
  const form = event.target, d = form.dataset, pieces = all(".piece", form), body = JSON.parse(d.body ?? "{}");
  if (!form.matches(".pieces")) return;
  event.preventDefault();
  for (const state of ["there", "missing", "expired"]) {
    if (d[state]) body[d[state]] = pieces.filter((one) => one.dataset.value === state).map((one) => one.dataset.code);
  }
  if (form.more) body.found = (body.expected = pieces.length + +form.more.value) - body.lost.length;
  for (const one of pieces) delete one.dataset.touched;
  tapped(d.kind, d.case, body, form.querySelector(".tap-label").textContent);
}

// A push draws panels anew: without the register's names, and with a coach that is folded.
function fill() {
  for (const one of all("select.anyone")) {
    if (!one[1]) one.append(document.getElementById("everyone").content.cloneNode(true));
    one.value = one.dataset.value ?? "";
  }
  const { coach } = document.querySelector("[data-coach]").dataset;
  for (const one of all(".aloud")) if (one.dataset.p === coach && !one.dataset.touched) one.open = true;
}

// Oxygen is rounded down and the way up: the safe side.
function run() {
  for (const one of all("time.until")) one.textContent = Math.max(0, Math[one.dataset.round]((Date.parse(one.dataset.until) - serverNow()) / 6e4));
}

export function startDoor() {
  document.addEventListener("click", mark);
  document.addEventListener("submit", send);
  document.addEventListener("change", ({ target }) => { if (target.matches(".anyone")) Object.assign(target.dataset, { value: target.value, touched: 1 }); });
  document.addEventListener("doorside:placed", () => { fill(); run(); });
  fill();
  setInterval(run, 500);
}
