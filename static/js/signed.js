// At a desk: a sign of life while somebody is there; once nobody was for too long, or another person came, the page anew.
const { person = "", idle } = document.body.dataset;
const SEEN = "doorside-seen", WHO = "doorside-person"; // shared by the tabs of this browser: a quiet tab ends nothing
let told = Date.now();

function here() {
  const now = Date.now();
  localStorage[SEEN] = now;
  if (now - told < 60000) return;
  told = now;
  fetch("/api/here", { method: "POST" }).catch(() => {});
}

// Never into an error page: without a line to the server the page stays.
const anew = () => fetch("/api/time").then(() => location.reload(), () => {});

localStorage[WHO] = person;
addEventListener("storage", (event) => { if (event.key === WHO && event.newValue !== person) anew(); });
if (person) {
  here();
  for (const sign of ["pointerdown", "keydown"]) addEventListener(sign, here);
  setInterval(() => { if (Date.now() - localStorage[SEEN] > idle * 60000) anew(); }, 10000);
}
