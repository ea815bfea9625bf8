// The worksheet: figures follow what is typed. What was unfolded stays so, and while figures lag they are not shown as current.
const form = document.getElementById("worksheet"), stale = document.getElementById("stale");
let typed = 0, asked = 0;
const unfolded = new Set();

form.addEventListener("input", () => { typed += 1; form.classList.add("lagging"); });
form.addEventListener("htmx:beforeRequest", () => { asked = typed; });
form.addEventListener("htmx:afterRequest", (event) => {
  if (!event.detail.successful) return;
  stale.hidden = true;
  form.classList.toggle("lagging", asked !== typed);
});
for (const name of ["htmx:responseError", "htmx:sendError", "htmx:timeout"]) {
  form.addEventListener(name, () => { stale.hidden = false; });
}

document.body.addEventListener("htmx:oobBeforeSwap", (event) => {
  for (const one of event.detail.target.querySelectorAll("details")) one.open ? unfolded.add(one.id) : unfolded.delete(one.id);
});
document.body.addEventListener("htmx:oobAfterSwap", () => {
  for (const id of unfolded) document.getElementById(id)?.setAttribute("open", "");
});

// On paper nothing can be unfolded: everything is.
let folded = [];
window.addEventListener("beforeprint", () => {
  const now = [...form.querySelectorAll("details:not([open])")];
  folded.push(...now);
  for (const one of now) one.open = true;
});
window.addEventListener("afterprint", () => {
  for (const one of folded) one.open = false;
  folded = [];
});
document.getElementById("print").addEventListener("click", () => window.print());
