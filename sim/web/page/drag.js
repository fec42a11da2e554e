// A finger or the mouse on the picture: up and down moves the air, left and right the stick.

// A drag over the whole picture covers so much of each range.
const AIR_ACROSS_MPS = 12;
const SPEED_ACROSS_MPS = 36;
const FINE = { air: 0.1, speed: 0.5 };
let drag = null;

const rounded = (value, step) => Math.round(value / step) * step;

function turnTo(name, value) {
  const { min, max } = choices.controls[CONTROL[name]];
  const wanted = Math.min(Number(max), Math.max(Number(min), rounded(value, FINE[name])));
  if (wanted !== choices.controls[CONTROL[name]].value) turn(CONTROL[name], wanted);
}

function beginDrag(event) {
  if (event.button !== 0 || event.target.closest("button")) return;
  by("fly").setPointerCapture(event.pointerId);
  drag = { id: event.pointerId, x: event.clientX, y: event.clientY,
    air: choices.controls[CONTROL.air].value, speed: choices.controls[CONTROL.speed].value };
  if (!context) start();
}

function moveDrag(event) {
  if (drag?.id !== event.pointerId) return;
  const { width, height } = by("fly").getBoundingClientRect();
  turnTo("air", drag.air - ((event.clientY - drag.y) / height) * AIR_ACROSS_MPS);
  turnTo("speed", drag.speed + ((event.clientX - drag.x) / width) * SPEED_ACROSS_MPS);
  showHand();
}

function endDrag(event) {
  if (drag?.id !== event.pointerId) return;
  drag = null;
  by("hand").hidden = true;
}

/** What the hand does, beside it. */
function showHand() {
  by("hand").hidden = false;
  by("hand").textContent = t("hand.says", { air: SAYS.air(choices.controls[CONTROL.air].value),
    speed: SAYS.speed(choices.controls[CONTROL.speed].value) });
}

function wireDrag() {
  const fly = by("fly");
  fly.addEventListener("pointerdown", beginDrag);
  fly.addEventListener("pointermove", moveDrag);
  for (const end of ["pointerup", "pointercancel"]) fly.addEventListener(end, endDrag);
}
