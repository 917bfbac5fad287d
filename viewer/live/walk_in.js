// Look around in a rig that the page itself contains: from the seat, or from outside.

import { Drawing, ROOM } from "drawing";
import { offerHeadset } from "headset_controls";
import { at, clip, element } from "page_parts";
import { drawable, eyesOf, facing, takenApart } from "rig_shapes";
import { around, tintingOf } from "watch";
import { WideDrawing } from "wide_drawing";

const KEYS = { x: "nm", y: "gt", z: "ju", turn: "ad", nod: "sw", tilt: "zc" }; // less, more along a head axis
const MANY_STEPS = 5; // with Shift
const FIELD = { least: 20, most: 200, first: 90 }; // degrees across what one eye sees
const FLAT = 115; // degrees; a wider picture is drawn in equal steps of azimuth and elevation
const FINE = 2; // pixels of the flat pictures that it is made of, for one of its own, each way
const BETWEEN = 6; // pixels between the pictures of both eyes
const DISTANCE = { least: 300, most: 9000, first: 2600 }; // mm from outside to the middle of the rig
const STEP = 5; // degrees of an arrow key
const ZOOM = 1.1;
const MOST_PIXELS = 2; // of the canvas for one of the page, each way
const WALLS = ["side"]; // roles that hide a rig from outside

const radians = (degrees) => (degrees * Math.PI) / 180;

let facts;
let rigs = []; // as `Drawing` takes them
let drawings = [];
let wides = [];
let gl;
let headset;
let state; // of the head
let field = FIELD.first;
const orbit = { azimuth: -48, elevation: 20, distance: DISTANCE.first };
let waiting = false; // for the browser to ask for the next picture

// ---- what is there ----

async function unpacked(text) {
  const packed = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
  const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"));
  return takenApart(await new Response(stream).arrayBuffer());
}

async function begin() {
  const { facts: told, binary } = await unpacked(at("data").textContent.trim());
  facts = told;
  let from = 0;
  rigs = [];
  for (const rig of facts.rigs) {
    rigs.push(await drawable(rig.shapes, binary.slice(from, (from += 2 + rig.shapes.images.length))));
  }
  state = { ...facts.rigs[0].heads[0].state };
  tell();
  build();

  gl = at("canvas").getContext("webgl2", { antialias: true, stencil: true });
  if (!gl) {
    at("status").textContent = "This browser has no WebGL 2, which draws the pictures.";
    return;
  }
  prepare();
  headset = offerHeadset(gl, facts.rigs[0], facts.headsetCautions, {
    draw: (view, area) => drawings[0].draw(view, { lenses: at("lenses").checked, area, ground: ROOM }),
    squeezed: () => at("lenses").click(),
    left: redraw,
  });
  new ResizeObserver(redraw).observe(at("canvas"));
}

function prepare() {
  drawings = rigs.map((rig) => new Drawing(gl, rig));
  wides = drawings.map((drawing) => new WideDrawing(drawing));
  redraw();
}

function tell() {
  document.title = `${facts.rigs[0].name}: look around`;
  at("name").textContent = facts.rigs.map((rig) => rig.name).join(" and ");
  at("about").textContent = facts.about;
  at("caution_list").replaceChildren(...facts.cautions.map((caution) => element("li", {}, caution)));
  tellNumbers(facts.rigs[0].heads[0]);
}

function tellNumbers(head) {
  at("numbers_of").textContent = `Measured at head position ${head.name}`;
  at("numbers").replaceChildren(...head.numbers.map((line) => element("li", {}, line)));
}

// ---- pictures ----

function redraw() {
  if (waiting || !drawings.length) return;
  waiting = true;
  requestAnimationFrame(() => {
    waiting = false;
    if (!gl.isContextLost() && !headset?.session) paint();
  });
}

function paint() {
  const canvas = at("canvas");
  const scale = Math.min(devicePixelRatio, MOST_PIXELS);
  const [width, height] = [canvas.clientWidth, canvas.clientHeight].map((side) => Math.round(side * scale));
  if (canvas.width !== width || canvas.height !== height) Object.assign(canvas, { width, height });

  const eyes = isOutside() ? ["outside"] : { both: ["left", "right"] }[chosen("eye")] ?? [chosen("eye")];
  const across = Math.floor((width - BETWEEN * (eyes.length - 1)) / eyes.length);
  gl.clearColor(0, 0, 0, 1);
  gl.clear(gl.COLOR_BUFFER_BIT);
  eyes.forEach((eye, number) => {
    const area = [number * (across + BETWEEN), 0, across, height];
    const other = compared();
    const divide = other ? Math.round((across * at("divide").valueAsNumber) / 100) : across;
    picture(shown(), eye, area, [area[0], 0, divide, height]);
    if (other) picture(other, eye, area, [area[0] + divide, 0, across - divide, height]);
  });
  canvas.dataset.drawn = Number(canvas.dataset.drawn ?? 0) + 1;
}

/** Draw part of what an eye sees, or of the rig from outside, into an area of the canvas. */
function picture({ rig, head, lenses }, eye, area, part) {
  const shape = area[2] / area[3];
  const eyes = eyesOf(facts.rigs[rig].pilot, head);
  const tinting = at("overlap").checked ? tintingOf(rigs[rig], eyes, eye) : null;
  if (eye === "outside") {
    const without = at("walls").checked ? [] : WALLS;
    drawings[rig].draw(fromOutside(rigs[rig], shape), { lenses, without, area, part, ground: ROOM });
  } else if (field <= FLAT) {
    const view = fromSeat(eyes, eye, shape);
    const watch = tinting && watched(wides[rig].watch, tinting, view, area, lenses);
    drawings[rig].draw(view, { lenses, area, part, watch });
  } else {
    const whole = Math.min(field, 180 * shape);
    const up = 90 - whole / shape / 2;
    const projection = { azimuth: head.turn, elevation: clip(head.nod, -up, up), field: whole };
    wides[rig].draw(eyes[eye], projection, area, { lenses, part, fineness: FINE, ...tinting });
  }
}

/** Draw what the other eye sees; return what a flat view is tinted by. */
function watched(watch, { other, tints }, view, [, , width, height], lenses) {
  const found = watch.look(other, around(view, width, height), tints, { lenses });
  gl.bindFramebuffer(gl.FRAMEBUFFER, null);
  return found;
}

const shown = () => ({ rig: 0, head: state, lenses: at("lenses").checked });

/** What is compared with what is shown; null for nothing. */
function compared() {
  const [kind, number] = at("other").value.split(" ");
  const here = shown();
  if (kind === "lenses") return { ...here, lenses: !here.lenses };
  if (kind === "head") return { ...here, head: facts.rigs[0].heads[number].state };
  return kind === "rig" ? { ...here, rig: 1 } : null;
}

function fromSeat(eyes, eye, shape) {
  const across = Math.tan(radians(field) / 2);
  return { eye: eyes[eye], ...eyes.axes, across, upright: across / shape };
}

function fromOutside(rig, shape) {
  const ways = facing({ turn: orbit.azimuth, nod: -orbit.elevation, tilt: 0 });
  const middle = [0, 1, 2].map((k) => {
    const ends = rig.images.map((image) => image.middle[k]).concat(facts.rigs[0].pilot.eyePoint[k]);
    return (Math.min(...ends) + Math.max(...ends)) / 2;
  });
  const eye = middle.map((value, k) => value - orbit.distance * ways.forward[k]);
  const across = Math.tan(radians(25)) * Math.max(1, shape);
  return { eye, ...ways, across, upright: across / shape };
}

// ---- controls ----

const chosen = (name) => document.querySelector(`input[name=${name}]:checked`).value;
const isOutside = () => chosen("from") === "outside";

function build() {
  const button = (head) =>
    element("button", { type: "button", onclick: () => goTo(head) }, head.name);
  at("heads").replaceChildren(...facts.rigs[0].heads.map(button));
  at("axes").replaceChildren(...facts.headAxes.map(axisRow));

  const { heads } = facts.rigs[0];
  const choices = [["", "nothing"]];
  if (rigs[0].lenses.length) choices.push(["lenses", "lenses out, or in"]);
  if (heads.length > 1) choices.push(...heads.map((head, number) => [`head ${number}`, `head position ${head.name}`]));
  if (rigs.length > 1) choices.push(["rig 1", facts.rigs[1].name]);
  at("other").replaceChildren(...choices.map(([value, text]) => element("option", { value }, text)));
  if (rigs.length > 1) at("other").value = "rig 1";
  at("lenses").disabled = !rigs[0].lenses.length;
  at("tilt").hidden = !("DeviceOrientationEvent" in window && navigator.maxTouchPoints);
  show();
}

function axisRow(axis) {
  const slider = element("input", { type: "range", id: `slide_${axis.name}`, min: axis.low, max: axis.high, step: axis.step });
  slider.oninput = () => move({ [axis.name]: slider.valueAsNumber });
  const keys = KEYS[axis.name].toUpperCase().split("").join(", ");
  const label = element("label", { htmlFor: slider.id, title: `keys ${keys}` }, axis.label);
  const row = element("div", { className: "axis" }, label, slider, element("output", { htmlFor: slider.id }));
  return row;
}

/** Make the controls show the state, and draw. */
function show() {
  facts.headAxes.forEach((axis, number) => {
    const [, slider, output] = at("axes").children[number].children;
    slider.value = clip(state[axis.name], axis.low, axis.high);
    output.textContent = `${Math.round(state[axis.name] * 10) / 10} ${axis.unit}`;
  });
  const { heads } = facts.rigs[0];
  const here = heads.findIndex(isAt);
  [...at("heads").children].forEach((button, number) => (button.ariaPressed = String(number === here)));
  at("where").textContent = here < 0 ? "head moved" : `head position ${heads[here].name}`;
  if (here >= 0) tellNumbers(heads[here]);
  at("divide_row").hidden = !at("other").value;
  at("walls_row").hidden = !isOutside();
  at("eye").hidden = isOutside();
  at("legend").hidden = isOutside() || !at("overlap").checked;
  redraw();
}

const isAt = (head) => facts.headAxes.every((axis) => head.state[axis.name] === state[axis.name]);

function move(what) {
  state = { ...state, ...what };
  show();
}

const goTo = (head) => move(head.state);

/** Look or go so many degrees further round and up. */
function turn(right, up) {
  if (isOutside()) {
    orbit.azimuth = (orbit.azimuth + right) % 360;
    orbit.elevation = clip(orbit.elevation + up, -89, 89);
    redraw();
  } else {
    move({ turn: clip(state.turn + right, -180, 180), nod: clip(state.nod + up, -89, 89) });
  }
}

function zoom(factor) {
  field = isOutside() ? field : clip(field * factor, FIELD.least, FIELD.most);
  orbit.distance = isOutside() ? clip(orbit.distance * factor, DISTANCE.least, DISTANCE.most) : orbit.distance;
  redraw();
}

const ACTS = {
  arrowleft: () => turn(-STEP, 0),
  arrowright: () => turn(STEP, 0),
  arrowup: () => turn(0, STEP),
  arrowdown: () => turn(0, -STEP),
  "+": () => zoom(1 / ZOOM),
  "=": () => zoom(1 / ZOOM),
  "-": () => zoom(ZOOM),
  l: () => at("lenses").disabled || at("lenses").click(),
  o: () => at("overlap").click(),
};

const canvas = at("canvas");
canvas.onkeydown = (event) => {
  if (event.ctrlKey || event.altKey || event.metaKey) return;
  const key = event.key.toLowerCase();
  const axis = facts.headAxes.find((one) => KEYS[one.name].includes(key));
  if (!axis && !(key in ACTS)) return;
  event.preventDefault();
  if (!axis) {
    ACTS[key]();
    return;
  }
  const steps = (KEYS[axis.name][0] === key ? -1 : 1) * (event.shiftKey ? MANY_STEPS : 1);
  move({ [axis.name]: clip(state[axis.name] + steps * axis.step, -axis.farthest, axis.farthest) });
};

// one finger or the mouse looks around, two fingers zoom
const fingers = new Map();
const apart = () => {
  const [one, other] = [...fingers.values()];
  return Math.hypot(one.x - other.x, one.y - other.y);
};
canvas.onpointerdown = (event) => {
  canvas.setPointerCapture(event.pointerId);
  fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
};
canvas.onpointerup = canvas.onpointercancel = (event) => fingers.delete(event.pointerId);
canvas.onpointermove = (event) => {
  const last = fingers.get(event.pointerId);
  if (!last) return;
  const before = fingers.size === 2 ? apart() : 0;
  fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
  if (before) {
    zoom(before / Math.max(1, apart()));
    return;
  }
  // what is under the finger goes along with it
  const degrees = (isOutside() ? 90 : field) / canvas.clientWidth;
  turn((last.x - event.clientX) * degrees, (event.clientY - last.y) * degrees);
};
canvas.onwheel = (event) => {
  event.preventDefault();
  zoom(event.deltaY > 0 ? ZOOM : 1 / ZOOM);
};
canvas.addEventListener("webglcontextlost", (event) => event.preventDefault());
canvas.addEventListener("webglcontextrestored", prepare);

for (const name of ["from", "eye"]) {
  for (const radio of document.querySelectorAll(`input[name=${name}]`)) radio.onchange = show;
}
for (const id of ["lenses", "overlap", "other", "walls"]) at(id).onchange = show;
at("divide").oninput = redraw;

// held in another page, as in that of a log, a link to a place in this one leads nowhere
document.querySelector(".skip").onclick = (event) => {
  event.preventDefault();
  at("controls").focus();
};

// the way the phone points when tilting begins is the way the face points then
at("tilt").onclick = async () => {
  const allowed = (await DeviceOrientationEvent.requestPermission?.()) ?? "granted";
  if (allowed !== "granted") {
    at("status").textContent = "The browser does not tell how the phone is tilted.";
    return;
  }
  let first = null;
  addEventListener("deviceorientation", ({ alpha, beta, gamma }) => {
    if (alpha === null) return;
    const way = pointing(alpha, beta, gamma);
    first ??= { ...way, from: { turn: state.turn, nod: state.nod } };
    const around = ((way.turn - first.turn + 540) % 360) - 180;
    move({ turn: clip(first.from.turn + around, -180, 180), nod: clip(first.from.nod + way.nod - first.nod, -89, 89) });
  });
};

/** Which way the back of a phone points, degrees; W3C Device Orientation: turns about z, x and y. */
function pointing(alpha, beta, gamma) {
  const [ca, cb, cg] = [alpha, beta, gamma].map((angle) => Math.cos(radians(angle)));
  const [sa, sb, sg] = [alpha, beta, gamma].map((angle) => Math.sin(radians(angle)));
  const east = -(ca * sg + sa * sb * cg);
  const north = -(sa * sg - ca * sb * cg);
  const up = -cb * cg;
  const degrees = 180 / Math.PI;
  return { turn: Math.atan2(east, north) * degrees, nod: Math.asin(clip(up, -1, 1)) * degrees };
}

begin();
