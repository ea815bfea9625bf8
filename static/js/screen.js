// The tablet as a screen on a wall: it stays awake, makes itself heard for a critical notice, and says how it is.
import { knowledge } from "./clock_offset.js";
import { $, $$, UNPAIRED, at, on, page, post, say } from "./dom.js";
import { rows } from "./outbox/store.js";
import { wipe } from "./picture.js";

const REPEAT_MS = 60000, CRITICAL = ".notice.critical button.tap, .band-notices .critical button.tap";
let audio, battery, heard = [], cued = 0;
const sounds = () => audio?.state === "running";

// The words stay until a line stands again: whoever pairs the screen anew loads its page.
function unpaired({ reason, error, do: then }) {
  const signIn = reason === "sign-in" && $("#sign-in-now"); // a desk is paired all the same: only its person is missing
  if (signIn) return signIn.hidden = false;
  wipe();
  say("#unpaired", `${error} ${then}`);
}

// Says how the screen is, and asks what it should show.
async function report() {
  const mine = (await rows()).filter((row) => row.tap.station === page.station), { station, version } = page;
  const [status, answer] = await post("/api/station", {
    station, version, page: page.page, cases: page.cases?.split(" ").filter(Boolean), ...knowledge(),
    waiting: mine.filter((row) => !row.refused).length, refused: mine.filter((row) => row.refused && !row.seen).length,
    battery_percent: battery && Math.round(battery.level * 100), charging: battery?.charging,
  });
  const go = answer?.reason === "revoked" ? "/pair" : answer?.go;
  if ($("#pair")) return; // from here it delivers what waits
  if (go) location.replace(go);
  else if (UNPAIRED.includes(status)) unpaired(answer);
}

function beep() {
  for (const after of [0, 0.3, 0.6]) {
    const tone = new OscillatorNode(audio, { frequency: 880 }), begin = audio.currentTime + after;
    tone.connect(audio.destination);
    tone.start(begin);
    tone.stop(begin + 0.18);
  }
}

// A notice that was not there before, or any again after a minute. A quiet case makes no sound.
function cue() {
  const open = $$(CRITICAL).map(({ dataset }) => dataset.case + dataset.body), again = Date.now() - cued >= REPEAT_MS;
  const due = open.some((one) => again || !heard.includes(one));
  heard = open;
  if (!due) return;
  cued = Date.now();
  document.body.classList.add("flash");
  setTimeout(() => document.body.classList.remove("flash"), 2400);
  if (navigator.userActivation?.hasBeenActive) navigator.vibrate?.([300, 150, 300]);
  if (sounds()) beep();
}

// Browsers let a page sound only after a touch: a choice made before a reload holds from the next touch on.
async function touched({ target }) {
  const switched = target.closest("#sound-switch"), off = switched && sounds();
  if (switched) localStorage.sound = off ? "" : "1";
  if (off) await audio.suspend();
  else if (localStorage.sound) await (audio ??= new AudioContext()).resume();
  if (switched && !off) beep();
  for (const one of $$(".sound")) one.dataset.on = sounds();
}

const fill = () => (document.fullscreenElement ? document.exitFullscreen() : document.documentElement.requestFullscreen?.());
const awake = () => document.hidden || navigator.wakeLock?.request("screen").catch(() => null);

if (page.station) {
  on("pairing", report);
  on("outbox", ({ detail }) => { if (detail.unpaired) { unpaired(detail.unpaired); report(); } });
  setInterval(report, 60000);
  setTimeout(report, 2000); // the clock has been compared by then
  navigator.getBattery?.().then((found) => { battery = found; battery.onchargingchange = report; }, () => null);
}
if ($("#over-screen")) {
  on("click", touched);
  at("click", "#full-screen", fill);
  on("placed", cue);
  on("visibilitychange", awake);
  setInterval(cue, 1000);
  awake();
}
