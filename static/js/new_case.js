// The desk's form: first the case's row, then its opening and its crew as taps, like any other. Choices are kept till then.
import { tapped } from "./tap.js";

const SETUP = ["ref", "procedure", "pathogen", "precaution", "urgency", "age", "difficult"], KEPT = "doorside-new-case";

function say(form, which, words = "") {
  const box = form.querySelector(".form-error");
  for (const one of box.children) one.hidden = !one.classList.contains(`error-${which}`);
  box.querySelector(".error-said").textContent = words;
  box.hidden = !which;
}

const known = (form) => [...form.elements.pathogen.list.options].find((one) => one.value === form.elements.pathogen.value);

async function openCase(form) {
  const data = new FormData(form);
  say(form, "");
  let response, answer;
  try {
    response = await fetch("/api/cases", {
      method: "POST", headers: { "content-type": "application/json" },
      body: JSON.stringify({ ref: data.get("ref"), room: data.get("room") || null }),
    });
    answer = await response.json();
  } catch {
    return say(form, "offline");
  }
  if (!response.ok) return say(form, answer.reason === "sign-in" ? "sign-in" : "said", `${answer.error} ${answer.do}`);
  sessionStorage.removeItem(KEPT);
  const setup = Object.fromEntries(SETUP.map((name) => [name, data.get(name)]).filter(([, value]) => value));
  const immune = known(form)?.dataset.immune; // R07 asks the register of immunity for this
  await tapped("case.open", answer.case, immune ? { ...setup, immune_needed: immune } : setup, "");
  const crew = Object.fromEntries([...data].filter(([name, value]) => name.startsWith("role-") && value).map(([name, value]) => [name.slice(5), value]));
  if (Object.keys(crew).length) await tapped("role.assign", answer.case, crew, "");
  location.assign(`/case/${answer.case}`);
}

export function startNewCase() {
  const form = document.getElementById("new-case");
  if (!form) return;
  for (const [name, value] of JSON.parse(sessionStorage[KEPT] ?? "[]")) if (name !== "ref" && form.elements[name]) form.elements[name].value = value;
  form.elements.pathogen.addEventListener("input", () => { // a known infection brings its precaution; it can be changed
    if (known(form)) form.elements.precaution.value = known(form).dataset.precaution;
  });
  form.addEventListener("input", () => { sessionStorage[KEPT] = JSON.stringify([...new FormData(form)]); });
  form.addEventListener("submit", (event) => { event.preventDefault(); openCase(form); });
}
