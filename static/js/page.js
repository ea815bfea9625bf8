// What every page runs. Each module looks for what it needs and does nothing where that is missing.
import "./panels.js";
import "./picture.js";
import "./said.js";
import "./tap.js";
import "./fold.js";
import "./line.js";
import "./screen.js";
import "./foot.js";
