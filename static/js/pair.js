// Large keys for a pairing code. A scanned one is in the fragment, which no server sees; it leaves the address at once.
const form = document.getElementById("pair"), field = form.elements.code;

form.addEventListener("click", (event) => {
  const key = event.target.closest(".key")?.dataset.key;
  if (key === undefined) return;
  field.value = key ? field.value + key : field.value.slice(0, -1);
  if (key && field.value.length === Number(field.dataset.length)) form.submit();
});
if (location.hash.length > 1) {
  field.value = location.hash.slice(1);
  history.replaceState(null, "", location.pathname);
  form.submit();
}
