// A code that was scanned is in the fragment, which no server sees; it leaves the address at once. Or large keys type it.
import { $, at } from "./dom.js";

const field = $("[name=code]"), { form } = field, { length } = field.dataset;

function type(code) {
  field.value = code;
  if (code.length === Number(length)) form.submit();
}

at("click", ".key", ({ dataset: { key } }) => type(key ? field.value + key : field.value.slice(0, -1)));
if (location.hash) {
  const code = location.hash.slice(1);
  history.replaceState(null, "", location.pathname);
  type(code);
}
