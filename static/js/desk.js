// At a desk: a sign of life while somebody is there; once nobody was for too long, or another person came, the page anew.
import { $, $$, at, bodyOf, on, page, post } from "./dom.js";
import { tapped } from "./tap.js";

const SEEN = "doorside-seen", WHO = "doorside-person"; // shared by the tabs of this browser
const KEPT = "doorside-kept", { person = "" } = page;
const anew = () => fetch("/api/time").then(() => location.reload(), () => null); // never into an error page
const form = $("form.kept"), sheet = $("#worksheet");
let told = Date.now();

function here() {
  localStorage[SEEN] = Date.now();
  if (Date.now() - told < 60000) return;
  told = Date.now();
  post("/api/here");
}

localStorage[WHO] = person;
on("storage", ({ key, newValue }) => { if (key === WHO && newValue !== person) anew(); });
if (person) {
  here();
  on("pointerdown keydown", here);
  setInterval(() => { if (Date.now() - localStorage[SEEN] > page.idle * 60000) anew(); }, 10000);
}

// A form is marked with what failed (0: no server) until it is answered, and while its figures lag behind what is typed.
on("htmx:sendError htmx:timeout htmx:responseError", ({ target, detail }) => { target.dataset.failed = detail.xhr.status; });
on("htmx:afterRequest", ({ target, detail }) => {
  if (!detail.successful) return;
  delete target.dataset.failed;
  target.classList.remove("lagging");
});
sheet?.addEventListener("input", () => {
  sheet.classList.add("lagging");
  window.htmx.trigger(sheet, "htmx:abort"); // an answer that is on its way comes too late
});

// What was chosen for a new case is kept until its opening and its crew, taps like any other, are made. A known infection
// brings its precaution; it can be changed.
on("htmx:load", async ({ target }) => {
  if (!("atOnce" in target.dataset)) return;
  sessionStorage.removeItem(KEPT);
  for (const one of target.children) await tapped(one.dataset.kind, target.dataset.atOnce, bodyOf(one));
  location.assign(`/case/${target.dataset.atOnce}`);
});
for (const [name, value] of JSON.parse((form && sessionStorage[KEPT]) ?? "[]")) {
  if (name !== "ref" && form.elements[name]) form.elements[name].value = value;
}
form?.addEventListener("input", ({ target }) => {
  const known = $$("#organisms option").find(({ value }) => value === target.value);
  if (known) form.elements.precaution.value = known.dataset.precaution;
  sessionStorage[KEPT] = JSON.stringify([...new FormData(form)]);
});

// On paper nothing can be unfolded: everything is.
on("beforeprint", () => $$("details:not([open])").forEach((one) => one.setAttribute("open", "paper")));
on("afterprint", () => $$("[open=paper]").forEach((one) => one.removeAttribute("open")));
at("click", "#print", () => print());
