// Figures and words without a keyboard. Plus and minus, held down they run; a touch on the figure takes it as it stands.
const sync = (root = document) => {
  for (const one of root.querySelectorAll(".stepper")) {
    one.querySelector("output").textContent = one.dataset.value;
    one.querySelector(".step-value").ariaPressed = "touched" in one.dataset;
  }
  for (const one of root.querySelectorAll(".say")) one.ariaPressed = "touched" in one.dataset || (one.matches(".given") && !one.parentNode.querySelector("[data-touched]"));
};

function move(button) {
  const stepper = button.closest(".stepper"), d = stepper.dataset;
  const value = Number(d.value) + Number(button.dataset.by);
  d.value = Number(Math.min(d.most, Math.max(d.least, value)).toFixed(2));
  d.touched = "1";
  sync(stepper.parentNode);
}

function touch(one) {
  const was = "touched" in one.dataset;
  if (one.matches(".say")) for (const other of one.parentNode.querySelectorAll("[data-touched]")) delete other.dataset.touched;
  if (was) delete one.dataset.touched; else one.dataset.touched = "1";
  sync(one.parentNode);
}

// What was moved or touched within an element goes into a tap, and is taken back from the page.
export function gathered(root) {
  const said = {};
  for (const one of root.querySelectorAll("[data-touched][data-name]")) {
    const value = one.dataset.value;
    said[one.dataset.name] = one.dataset.list ? [value] : one.matches(".say") ? value : Number(value);
    if (one.dataset.unit) said[one.dataset.name.replace("dose", "unit")] = one.dataset.unit;
    delete one.dataset.touched;
  }
  sync(root);
  return said;
}

export function startSteppers() {
  let held = null;
  const stepOf = (event) => event.target.closest(".step");
  document.addEventListener("click", (event) => {
    if (stepOf(event)) move(stepOf(event));
    const one = event.target.closest(".say") ?? event.target.closest(".step-value")?.closest(".stepper");
    if (one) touch(one);
  });
  document.addEventListener("pointerdown", (event) => {
    const button = stepOf(event);
    if (button) held = setTimeout(() => { held = setInterval(() => move(button), 90); }, 450);
  });
  for (const end of ["pointerup", "pointercancel", "pointerleave"]) document.addEventListener(end, () => { clearTimeout(held); clearInterval(held); });
  // A push redraws from the last value; where a finger has been, what is shown follows the finger.
  document.addEventListener("doorside:placed", () => sync());
  sync();
}
