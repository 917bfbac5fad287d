// The hands on the 3D view: mouse, fingers, wheel and keys orbit, zoom and shift it, and drag the head.

const DEGREES_PER_PIXEL = 0.4; // of a drag
const ZOOM_PER_PIXEL = 0.0015; // of the wheel, as a logarithm
const LINE = 16; // pixels of the wheel, where it counts lines

/** Listen to hands on a `StageView`. */
export function listen(stage) {
  const { canvas } = stage;
  const fingers = new Map(); // where each is, pixels of the page

  canvas.onkeydown = (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const key = event.key === "=" ? "+" : event.key;
    if (stage.press(key, event.shiftKey)) event.preventDefault();
  };

  canvas.onwheel = (event) => {
    event.preventDefault();
    stage.turn("distance", Math.exp(event.deltaY * ZOOM_PER_PIXEL * (event.deltaMode ? LINE : 1)));
  };

  canvas.onpointerdown = (event) => {
    canvas.setPointerCapture(event.pointerId);
    fingers.set(event.pointerId, placeOf(event));
    const isFirst = fingers.size === 1;
    if (isFirst && stage.isHead(seenBy(canvas, event))) stage.grasp(seenBy(canvas, event));
    else if (stage.held) stage.grasp(null); // a second finger zooms
  };

  canvas.onpointermove = (event) => {
    const last = fingers.get(event.pointerId);
    if (!last) stage.hover(stage.isHead(seenBy(canvas, event)));
    else if (stage.held) stage.dragHead(seenBy(canvas, event));
    else if (fingers.size === 1) drag(stage, minus(placeOf(event), last), event.shiftKey);
    else pinch(stage, [...fingers.values()], last, placeOf(event));
    if (last) fingers.set(event.pointerId, placeOf(event));
  };

  canvas.onpointerup = canvas.onpointercancel = (event) => {
    fingers.delete(event.pointerId);
    if (stage.held) stage.grasp(null);
  };
  canvas.onpointerleave = () => stage.hover(false);
}

/** Orbit as what is seen goes along with the finger, or shift what is seen. */
function drag(stage, [right, down], shifts) {
  if (shifts) {
    slide(stage, [right, down]);
  } else {
    stage.turn("azimuth", -right * DEGREES_PER_PIXEL);
    stage.turn("elevation", down * DEGREES_PER_PIXEL);
  }
}

/** Zoom and shift as one of two fingers goes on: what is under both stays there. */
function pinch(stage, fingers, last, next) {
  const other = fingers.find((finger) => finger !== last);
  const apart = (one) => Math.max(1, Math.hypot(...minus(one, other)));
  stage.turn("distance", apart(last) / apart(next));
  slide(stage, minus(next, last).map((value) => value / 2));
}

function slide(stage, [right, down]) {
  const { clientWidth, clientHeight } = stage.canvas;
  stage.slide([(-2 * right) / clientWidth, (2 * down) / clientHeight]);
}

const placeOf = (event) => [event.clientX, event.clientY];
const minus = (one, other) => [one[0] - other[0], one[1] - other[1]];

/** Return where a finger is as `seenAt` of stage_view.js tells places. */
function seenBy(canvas, event) {
  const { left, top, width, height } = canvas.getBoundingClientRect();
  return [(2 * (event.clientX - left)) / width - 1, 1 - (2 * (event.clientY - top)) / height];
}
