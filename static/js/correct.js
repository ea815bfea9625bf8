// Puts an entry right from the record's list: a new entry that names the first, which stays readable.
import { tapped } from "./tap.js";

const HALF_DAY = 43200, DAY = 86400;
const seconds = (text) => text.split(":").reduce((sum, part, i) => sum + Number(part) * [3600, 60, 1][i], 0);

// The clock's face was changed by so much; over midnight the shorter way round is meant.
function moved(form, text) {
  let by = seconds(text) - seconds(form.dataset.shown);
  if (by > HALF_DAY) by -= DAY;
  if (by < -HALF_DAY) by += DAY;
  return by ? new Date(Date.parse(form.dataset.at) + by * 1000).toISOString() : null;
}

async function onSubmit(event) {
  const form = event.target.closest("form.correct-form");
  if (!form) return;
  event.preventDefault();
  const body = { ref: form.dataset.ref }, at = moved(form, form.elements.at.value);
  if (at) body.at = at;
  for (const field of form.elements) {
    if (!field.name?.startsWith("set_") || field.value === field.dataset.first) continue;
    body[field.name] = field.type === "number" ? Number(field.value) : field.value;
  }
  if (Object.keys(body).length === 1) return;
  if (form.elements.why.value) body.why = form.elements.why.value;
  await tapped("tap.fix", form.dataset.case, body, "");
  form.closest("details").open = false;
}

export const startCorrections = () => document.addEventListener("submit", onSubmit);
