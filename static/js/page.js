// What every page runs. Each module looks for what it needs and does nothing where that is missing.
import { startLink } from "./link.js";
import { startTaps } from "./tap.js";
import { startClocks } from "./clocks.js";
import { startSteppers } from "./steppers.js";
import { startFoot } from "./foot.js";
import { startScreen } from "./screen.js";
import { startCorrections } from "./correct.js";
import { startWorker } from "./picture.js";
import { startNewCase } from "./new_case.js";
import { startDoor } from "./door.js";

if (document.body.dataset.station) {
  startTaps();
  startScreen();
  startSteppers();
  startFoot();
  startCorrections();
}
if (document.body.dataset.page) startLink();
startClocks();
startWorker();
startNewCase();
if (document.body.dataset.kind === "outside") startDoor();
