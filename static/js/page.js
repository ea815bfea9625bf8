// What every page runs. Each module looks for what it needs and does nothing where that is missing.
import { startLink } from "./link.js";
import { startTaps } from "./tap.js";
import { startClocks } from "./clocks.js";
import { startSteppers } from "./steppers.js";
import { startCorrections } from "./correct.js";
import { startNewCase } from "./new_case.js";

if (document.body.dataset.station) {
  startTaps();
  startSteppers();
  startCorrections();
}
if (document.body.dataset.page) startLink();
startClocks();
startNewCase();
