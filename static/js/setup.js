// The set-up code comes in the fragment of the printed link: it is filled in and taken out of the address at once.
if (location.hash.length > 1) {
  document.getElementById("code").value = location.hash.slice(1);
  history.replaceState(null, "", location.pathname);
}
