// The tablet as a screen on a wall: it stays awake, makes itself heard for a critical notice, and says how it is.
import { knowledge } from "./clock_offset.js";
import { rows } from "./outbox/store.js";

const body = document.body.dataset, REPEAT_MS = 60000, CRITICAL = ".notice.critical button.tap, .band-notices .critical button.tap";
let audio = null, battery = null, heard = new Set(), cued = 0;
const sounds = () => audio?.state === "running";

async function report() {
  const mine = (await rows()).filter((row) => row.tap.station === body.station);
  const said = {
    station: body.station, page: body.page ?? "", cases: body.cases?.split(" ").filter(Boolean) ?? [], ...knowledge(), version: body.version,
    waiting: mine.filter((row) => !row.refused).length, refused: mine.filter((row) => row.refused && !row.seen).length,
    battery_percent: battery && Math.round(battery.level * 100), charging: battery && battery.charging,
  };
  const answer = await fetch("/api/station", { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(said) })
    .then((response) => response.json(), () => ({}));
  const go = answer.reason === "revoked" && !document.getElementById("pair") ? "/pair" : answer.go;
  if (go) location.replace(go);
}

function beep() {
  for (const at of [0, 0.3, 0.6]) {
    const tone = audio.createOscillator(), now = audio.currentTime + at;
    tone.frequency.value = 880;
    tone.connect(audio.destination);
    tone.start(now);
    tone.stop(now + 0.18);
  }
}

// A notice that was not there before, or any again after a minute. A quiet case makes no sound.
function cue() {
  const open = [...document.querySelectorAll(CRITICAL)].map((one) => one.dataset.case + one.dataset.body);
  const due = open.some((one) => !heard.has(one)) || (open.length && Date.now() - cued >= REPEAT_MS);
  heard = new Set(open);
  if (!due) return;
  cued = Date.now();
  document.body.classList.add("flash");
  setTimeout(() => document.body.classList.remove("flash"), 2400);
  if (navigator.userActivation?.hasBeenActive) navigator.vibrate?.([300, 150, 300]);
  if (sounds()) beep();
}

// Browsers let a page sound only after a touch: a choice made before a reload holds from the next touch on.
async function touched(event) {
  const switched = event.target.closest("#sound-switch"), off = switched && sounds();
  if (switched) localStorage.sound = off ? "" : "1";
  if (off) await audio.suspend();
  else if (localStorage.sound) await (audio ??= new AudioContext()).resume();
  if (switched && !off) beep();
  for (const one of document.querySelectorAll(".sound")) one.dataset.on = Boolean(sounds());
  if (event.target.closest("#full-screen")) await (document.fullscreenElement ? document.exitFullscreen() : document.documentElement.requestFullscreen?.());
}

const awake = () => document.hidden || navigator.wakeLock?.request("screen").catch(() => null);

export async function startScreen() {
  document.addEventListener("doorside:pairing", report);
  setInterval(report, 60000);
  setTimeout(report, 2000); // the clock has been compared by then
  battery = await navigator.getBattery?.().catch(() => null);
  battery?.addEventListener("chargingchange", report);
  if (!document.getElementById("over-screen")) return;
  document.addEventListener("click", touched);
  document.addEventListener("doorside:placed", cue);
  document.addEventListener("visibilitychange", awake);
  setInterval(cue, 1000);
  awake();
}
