// The desk's form: first the case's row, then its opening and its crew as taps, like any other.
import { tapped } from "./tap.js";

const SETUP = ["ref", "procedure", "pathogen", "precaution", "urgency", "age", "difficult"];

async function openCase(form) {
  const data = new FormData(form), error = form.querySelector(".form-error");
  error.hidden = true;
  let answer;
  try {
    const response = await fetch("/api/cases", {
      method: "POST", headers: { "content-type": "application/json" },
      body: JSON.stringify({ ref: data.get("ref"), room: data.get("room") || null }),
    });
    answer = await response.json();
    if (!response.ok) throw new Error([answer.error, answer.do].filter(Boolean).join(" "));
  } catch (reason) {
    error.textContent = reason.message;
    error.hidden = false;
    return;
  }
  const setup = Object.fromEntries(SETUP.map((name) => [name, data.get(name)]).filter(([, value]) => value));
  await tapped("case.open", answer.case, setup, "");
  const crew = Object.fromEntries([...data].filter(([name, value]) => name.startsWith("role-") && value).map(([name, value]) => [name.slice(5), value]));
  if (Object.keys(crew).length) await tapped("role.assign", answer.case, crew, "");
  location.assign(`/case/${answer.case}`);
}

export function startNewCase() {
  document.getElementById("new-case")?.addEventListener("submit", (event) => {
    event.preventDefault();
    openCase(event.target);
  });
}
