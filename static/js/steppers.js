// Figures without a keyboard: plus and minus, held down they run.
export function startSteppers() {
  let held = null;
  const step = (button) => {
    const stepper = button.closest(".stepper"), d = stepper.dataset;
    const sign = button.classList.contains("step-up") ? 1 : -1;
    const value = Math.min(Number(d.most), Math.max(Number(d.least), Number(d.value) + sign * Number(d.step)));
    d.value = value;
    d.touched = "1";
    stepper.querySelector("output").textContent = value;
  };
  const buttonOf = (event) => event.target.closest(".step-up, .step-down");
  document.addEventListener("click", (event) => { const button = buttonOf(event); if (button) step(button); });
  document.addEventListener("pointerdown", (event) => {
    const button = buttonOf(event);
    if (button) held = setTimeout(() => { held = setInterval(() => step(button), 90); }, 450);
  });
  for (const end of ["pointerup", "pointercancel", "pointerleave"]) document.addEventListener(end, () => { clearTimeout(held); clearInterval(held); });
  // A push redraws the stepper from the last value; where a finger has moved it, the shown number follows the finger.
  document.addEventListener("doorside:placed", () => {
    for (const stepper of document.querySelectorAll(".stepper[data-touched]")) stepper.querySelector("output").textContent = stepper.dataset.value;
  });
}
