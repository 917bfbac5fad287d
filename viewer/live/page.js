// The live view's page: shows what the server draws, and asks for the newest state,
// one request of a kind at a time.

import { at, clip, element, put, spoken, TEXT_FIELDS } from "./page_parts.js";
import * as curve from "./page_curve.js";
import { OwnPictures } from "./page_drawing.js";
import { LEAST, show, shownWidth, unpacked, whenResized } from "./page_eyes.js";
import { RigShapes } from "./page_shapes.js";
import { StageView } from "./page_stage.js";
import { listen } from "./page_stage_hands.js";
import * as rigValues from "./page_values.js";
import { takenApart } from "./rig_shapes.js";

const KEYS = { x: "nm", y: "gt", z: "ju", turn: "ad", nod: "sw", tilt: "zc" }; // less, more along a head axis
const MANY_STEPS = 5; // with Shift
const REST = 180; // ms without a change, after which the head rests
const CONTROLS_PAUSE = 50; // ms until they follow; a mouse moves oftener than anyone can read
// while a number of the rig moves, 3D view and numbers follow, if they leave the pictures most of the time:
const VALUE_PAUSE = 500;
const VALUE_PAUSES = 10;
// ms of a pair, above and below which pictures have half the pixels each way, or all, meanwhile:
const SLOW = 60;
const FAST = 25;
// ms from a changed number to its picture, up to which the browser draws it whatever the server takes:
const QUICK_TRIP = 60;
const PAIR_TRIP = 2; // about so many times as long as where only the head moves, for a pair of the server
const LATE_PAUSE = 300; // ms until pictures as large as they are shown are asked for again, that gave way to others
const ROOM_PAUSE = 700; // ms between two looks how far the head room is found, and while the head moves
const MOVING_SHARE = 0.5; // of the time for a pair at rest, about, that the server takes while the head moves

let socket;
let state = null;
let start = null; // state at first, as the server has it
let headAxes = [];
let heads = [];
let resting = 0; // timer
let moving = false;
let valuesMove = false; // a number of the rig, not the head
let halved = false; // pictures, where the server is slow
const took = { pair: 0, stage: 0, shapes: 0, numbers: 0 }; // ms, the last time
const trip = { pair: 0, shapes: 0 }; // ms from asking to showing, while a number of the rig moves
let following = 0; // timer of the controls
let newestDrawn = 0; // number of the pair in the canvases
let version = ""; // of the rig file
const own = new OwnPictures();
let frame = 0; // the browser's number of the next own pair
let drawing = false; // an own pair
let again = false; // another, after that
const shapes = new RigShapes();
let latest = null; // rig, as its shapes came last
const stage = new StageView(at("stage"), {
  begin: (isOwn) => put(at("head_hint"), { hidden: !isOwn }),
  move: change,
  ask: (pause) => asking.stage.ask(pause),
  tell: (text) => put(at("stage_problem"), { textContent: text }),
});

// ---- asking ----

/**
 * Requests of one kind: at most one on its way, then the newest state,
 * and none sooner than a pause after the last.
 */
class Asking {
  constructor(want) {
    Object.assign(this, { want, number: 0, busy: false, asked: false });
    Object.assign(this, { last: -Infinity, pause: 0, timer: 0, more: {}, sent: {} });
  }

  ask(pause = 0, more = {}) {
    this.asked = true;
    Object.assign(this, { pause, more });
    this.pump();
  }

  pump() {
    if (!this.asked || this.busy || !state || socket?.readyState !== WebSocket.OPEN) return;
    const wait = this.last + this.pause - performance.now();
    clearTimeout(this.timer);
    if (wait > 0) {
      this.timer = setTimeout(() => this.pump(), wait);
      return;
    }

    Object.assign(this, { busy: true, asked: false, last: performance.now(), after: newestDrawn });
    this.number += 1;
    this.sent = rigValues.changes();
    const shown = { state, orbit: stage.orbit, changes: this.sent, moving, width: this.width() };
    if (this.want === "shapes") shown.has = shapes.keys;
    socket.send(JSON.stringify({ want: this.want, number: this.number, ...shown, ...this.more }));
  }

  /** Return how many pixels pictures have across. */
  width() {
    if (this.want === "sharp") return shownWidth();
    return moving && valuesMove && halved ? LEAST / 2 : LEAST;
  }

  answered(number) {
    if (number === this.number) this.busy = false;
    this.pump();
  }
}

const WANTS = ["pair", "sharp", "stage", "numbers", "save", "write", "save_as", "shapes", "room"];
const asking = Object.fromEntries(WANTS.map((want) => [want, new Asking(want)]));

/** Change the state, and show it: at once and quickly, then in full when nothing changes more. */
function change(what) {
  state = { ...state, ...what };
  valuesMove = false;
  follow();
  stage.show(state, true);
  lookAtRoom(ROOM_PAUSE);
}

/** Show numbers of the rig that were changed, in the same way. */
function changeValues() {
  valuesMove = true;
  follow();
  const wants = stage.isOwn() ? ["shapes", "numbers"] : ["stage", "numbers"];
  for (const want of wants) {
    if (want === "shapes" && asksShapes()) continue; // at once, above
    asking[want].ask(Math.max(VALUE_PAUSE, VALUE_PAUSES * took[want]));
  }
}

function follow() {
  if (!moving) {
    own.pace?.start();
    trip.shapes = 0;
  }
  moving = true;
  asking.sharp.asked = false;
  say("save", "");
  clearTimeout(resting);
  resting = setTimeout(rest, REST);
  following ||= setTimeout(showControls, CONTROLS_PAUSE);
  if (hasOwn()) askOwn();
  else if (asksShapes()) asking.shapes.ask();
  else asking.pair.ask();
}

// ---- pictures that the browser draws itself ----

/** Find how wide a picture the browser draws quickly. */
async function tryOut() {
  await own.tryOut(shownWidth(), state, took.pair, () => !moving);
  at("eyes").dataset.own = own.has(rigKey());
}

/** What tells one rig from another: the file's version, and changed numbers. */
const rigKey = () => JSON.stringify([version, rigValues.changes()]);

const hasOwn = () => own.has(rigKey());

/** Tell whether changed numbers of the rig are better drawn here, of the parts that change. */
function asksShapes() {
  if (!valuesMove || !own.isReady()) return false;
  const waited = asking.shapes.busy ? performance.now() - asking.shapes.last : 0;
  return Math.max(trip.shapes, waited) < Math.max(QUICK_TRIP, trip.pair || PAIR_TRIP * took.pair);
}

/** Tell whether a pair, by its number, is drawn, at rest, and nothing newer on its way. */
function isNewest(pair) {
  return !moving && pair === newestDrawn && pair === asking.pair.number && !asking.pair.asked;
}

function askOwn() {
  if (drawing) again = true;
  else frame ||= requestAnimationFrame(drawOwn);
}

async function drawOwn() {
  frame = 0;
  if (!moving || !(hasOwn() || asksShapes())) return;
  newestDrawn = asking.pair.number + 1; // what the server was asked for before is older
  if (own.hasGrooves && state.lenses) say("own", "Ideal lenses until it rests.", false);
  drawing = true;
  again = false;
  await own.draw(state, (bitmaps) => show(bitmaps, "browser"));
  drawing = false;
  if (again) askOwn();
}

function rest() {
  moving = false;
  say("own", "");
  awaitAnswers();
  asking.pair.ask(); // the rest follows it
  describe();
}

function awaitAnswers() {
  for (const one of ["eyes", "numbers"]) put(at(one), { ariaBusy: "true" });
}

/** Show the rig in 3D, as the head rests. */
function showStage() {
  if (own.needs(rigKey()) || stage.needs(rigKey())) askShapes();
  stage.show(state, false);
  lookAtRoom();
}

/** Ask for the rig's shapes, once for all that draw them. */
function askShapes() {
  if (latest?.key === rigKey() && !latest.rig.draft) takeShapes();
  else asking.shapes.ask();
}

/** Draw a rig whose numbers change. */
function followValues(asked) {
  const { key, facts, rig } = latest;
  stage.takeSoon(key, rig, facts.pilot);
  if (!asksShapes()) return;
  own.take(key, facts, rig);
  trip.shapes = performance.now() - asked + own.took;
  if (asksShapes()) askOwn();
}

/** Draw a rig at rest: in 3D, then pairs to try out, once nothing else takes the time. */
async function takeShapes() {
  const { key, facts, rig } = latest;
  if (stage.needs(key)) stage.take(key, rig, facts.pilot);
  await stage.taken;
  if (moving || asking.numbers.busy || key !== rigKey() || !own.needs(key)) return;
  own.take(key, facts, rig);
  await tryOut();
}

/** Ask how far the head room is found, and for its surface, where the server's picture does not show it. */
function lookAtRoom(pause = 0) {
  if (stage.isOwn() && state.room) asking.room.ask(pause, { surface: stage.surface });
}

// ---- answers ----

const answers = {
  rig(facts) {
    at("name").textContent = facts.name;
    document.title = `${facts.name}: what each eye sees`;
    start ??= facts.start;
    state ??= start;
    stage.begin(facts);
    headAxes = facts.head_axes;
    heads = facts.heads;
    version = facts.version;
    at("lenses").disabled = !facts.lenses;
    tellProblems("file", facts.problems);
    rigValues.take(facts);

    if (!at("head_axes").children.length) buildSliders();
    buildHeads();
    showControls();
    rest();
  },

  async pair(facts, pictures) {
    const { last } = asking.pair;
    asking.pair.answered(facts.number);
    tellWrong(facts);
    if (!facts.moving && !moving) {
      asking.numbers.ask();
      showStage();
    }
    if (facts.problem) return;

    // a newer pair may come while this one is unpacked
    const bitmaps = await unpacked(pictures);
    if (facts.number < newestDrawn) return bitmaps.forEach((bitmap) => bitmap.close());
    newestDrawn = facts.number;
    if (!facts.moving) took.pair = facts.took * MOVING_SHARE;
    at("eyes").dataset.took = facts.took;
    show(bitmaps, "server");
    if (moving && valuesMove) {
      halved = facts.took > (halved ? FAST : SLOW);
      trip.pair = performance.now() - last;
    }
    if (facts.moving || moving) return;
    if (shownWidth() > LEAST) asking.sharp.ask();
    else at("eyes").ariaBusy = "false";
  },

  async sharp(facts, pictures) {
    const { after } = asking.sharp;
    asking.sharp.answered(facts.number);
    if (!isNewest(after)) return;
    if (facts.late) return asking.sharp.ask(LATE_PAUSE);
    if (!facts.problem) {
      const bitmaps = await unpacked(pictures);
      if (!isNewest(after)) return bitmaps.forEach((bitmap) => bitmap.close());
      show(bitmaps, "server");
    }
    at("eyes").ariaBusy = "false";
  },

  async stage(facts, pictures) {
    asking.stage.answered(facts.number);
    at("stage_problem").textContent = facts.lines ? "" : (facts.problem ?? ""); // those are told above
    if (facts.problem) return;
    took.stage = facts.took;
    showRoomState(facts);
    stage.showServers(await createImageBitmap(new Blob(pictures)), facts.took);
  },

  room(facts, binary) {
    asking.room.answered(facts.number);
    if (facts.problem || !state.room) return;
    showRoomState(facts);
    stage.takeRoom(facts.surface, binary);
  },

  numbers(facts) {
    asking.numbers.answered(facts.number);
    if ((moving && !valuesMove) || facts.problem) return;
    took.numbers = facts.took;
    at("numbers").replaceChildren(...facts.lines.map(numberLine));
    if (moving) return;
    at("numbers").ariaBusy = "false";
    if (own.isWorthATry(rigKey())) tryOut();
    else if (latest) takeShapes();
  },

  async shapes(facts, binary) {
    const { sent, last } = asking.shapes;
    const key = JSON.stringify([facts.version, sent]);
    if (!facts.problem) latest = { key, facts, rig: await shapes.take(facts.shapes, binary) };
    asking.shapes.answered(facts.number); // not before: what is here is asked for no more
    if (moving && valuesMove) tellWrong(facts);
    if (facts.problem) return;
    took.shapes = facts.took;
    if (moving) followValues(last);
    else takeShapes();
  },

  save(facts, pictures) {
    asking.save.answered(facts.number);
    say("save", facts.problem ?? `Saved as ${facts.name}`, Boolean(facts.problem));
    if (facts.problem) return;
    const link = element("a", { href: URL.createObjectURL(new Blob(pictures)), download: facts.name });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
  },

  write(facts) {
    const { sent } = asking.write;
    asking.write.answered(facts.number);
    rigValues.answered(facts, sent);
  },

  save_as(facts) {
    asking.save_as.answered(facts.number);
    rigValues.answered(facts);
  },

  refused(facts) {
    for (const one of Object.values(asking)) one.busy = false;
    say("refused", facts.problem);
  },
};

function receive(message) {
  const { facts, binary } = takenApart(message);
  answers[facts.kind](facts, binary);
}

function connect() {
  socket = new WebSocket(`ws://${location.host}/live`);
  socket.binaryType = "arraybuffer";
  socket.onmessage = (event) => receive(event.data);
  socket.onopen = () => {
    say("connection", "");
    say("save", "");
    for (const one of Object.values(asking)) one.busy = false;
  };
  socket.onclose = () => {
    const advice = "Start `seamsight page` again with the same --port and this page reconnects.";
    say("connection", `Seamsight has stopped. ${advice}`);
    setTimeout(connect, 1500);
  };
}

// ---- what the page shows ----

const said = {};

/** Tell what is wrong with the rig or the head's place, if anything, as an answer says. */
function tellWrong({ problem, lines }) {
  say("pose", lines ? "" : problem);
  say("refused", "");
  tellProblems("values", lines ?? []);
  at("eyes").classList.toggle("stale", Boolean(problem));
}

/** Say something in the status line, or, with no text, that it is over. */
function say(about, text, wrong = true) {
  if (text) said[about] = { text, wrong };
  else delete said[about];
  const lines = Object.values(said);
  const whole = lines.map((line) => line.text).join(" · ");
  if (at("status").textContent !== whole) at("status").textContent = whole;
  at("status").classList.toggle("wrong", lines.some((line) => line.wrong));
}

const HEADINGS = {
  file: "The saved rig file has errors. Still showing the last valid version:",
  values: "With these numbers the rig would be wrong. Still showing the last right one:",
};
const problems = { file: [], values: [] };

/** Show what is wrong with the file, or with changed numbers; the same is not told twice. */
function tellProblems(about, lines) {
  if (lines.join("\n") === problems[about].join("\n")) return;
  problems[about] = lines;
  const told = Object.entries(problems).flatMap(([of, found]) =>
    found.length ? [HEADINGS[of], ...found] : [],
  );
  at("problems").replaceChildren(...told.map((line) => element("p", {}, line)));
}

function numberLine(line) {
  const [subject, ...words] = line.split(": ");
  return element("li", {}, element("strong", {}, `${subject}: `), words.join(": "));
}

/** Build a slider, a number field and a row of the table of keys for each head axis. */
function buildSliders() {
  for (const axis of headAxes) {
    const row = at("head_axis").content.cloneNode(true).firstElementChild;
    const [label, slider, field, unit] = row.children;
    const limits = { min: axis.low, max: axis.high };
    Object.assign(slider, { id: `slide_${axis.name}`, ...limits, step: axis.step });
    Object.assign(field, { id: `type_${axis.name}`, ...limits, step: "any" });
    label.htmlFor = slider.id;
    label.textContent = axis.label;
    unit.textContent = axis.unit;
    field.setAttribute("aria-label", `${axis.label}, ${spoken(axis.unit)}`);

    slider.oninput = () => {
      move(axis, slider.valueAsNumber);
      slider.ariaValueText = inWords(axis); // at once, as it is read out at once
    };
    field.oninput = () => Number.isFinite(field.valueAsNumber) && move(axis, field.valueAsNumber);
    field.onchange = () => (field.value = shortened(state[axis.name]));
    at("head_axes").append(row);

    const [less, more] = [...KEYS[axis.name].toUpperCase()].map((key) => element("kbd", {}, key));
    const keys = element("td", {}, less, " less, ", more, " more");
    at("keys").append(element("tr", {}, element("th", { scope: "row" }, axis.label), keys));
  }
}

function buildHeads() {
  const button = (head) =>
    element("button", { type: "button", onclick: () => goTo(head) }, head.name);
  at("heads").replaceChildren(...heads.map(button));
}

/** Make every control show the state; a field that is being typed in is left alone. */
function showControls() {
  clearTimeout(following);
  following = 0;
  for (const axis of headAxes) {
    const value = state[axis.name];
    const slider = at(`slide_${axis.name}`);
    const field = at(`type_${axis.name}`);
    // a slider stays at its end where the head is farther out; the field shows how far
    const shown = String(clip(value, axis.low, axis.high));
    put(slider, { value: shown, ariaValueText: inWords(axis) });
    const [min, max] = [Math.min(axis.low, value), Math.max(axis.high, value)].map(String);
    put(field, { min, max });
    if (document.activeElement !== field) put(field, { value: shortened(value) });
  }

  const buttons = [...at("heads").children];
  buttons.forEach((button, index) => put(button, { ariaPressed: String(isAt(heads[index])) }));
  put(at("lenses"), { checked: state.lenses });
  put(at("overlap"), { checked: state.overlap });
  put(at("legend"), { hidden: !state.overlap });
  put(at("room"), { checked: state.room });
  for (const one of ["room_hint", "room_state"]) put(at(one), { hidden: !state.room });
  put(at("where"), { textContent: place() });
  if (moving) awaitAnswers();
}

/** Say whether the head room is still being found; if so, look again soon. */
function showRoomState({ room, refining }) {
  put(at("room_state"), { textContent: room ?? "" });
  if (!refining) return;
  if (stage.isOwn()) lookAtRoom(ROOM_PAUSE);
  else asking.stage.ask(ROOM_PAUSE);
}

function describe() {
  const lenses = state.lenses ? "in" : "left out";
  const colours = state.overlap ? ", coloured by eye" : "";
  const how = `${place()}, lenses ${lenses}${colours}`;
  for (const eye of ["left", "right"]) {
    at(eye).setAttribute("aria-label", `What the ${eye} eye sees. Head: ${how}`);
  }
}

function place() {
  const name = heads.find(isAt)?.name;
  const parts = headAxes
    .filter((axis) => state[axis.name])
    .map(wayOff);
  return [name, parts.join(", ")].filter(Boolean).join(": ") || "at the design eye point";
}

/** Return how far the head is off along an axis: "5 mm left", "turn right 20°". */
function wayOff(axis) {
  const far = shortened(Math.abs(state[axis.name]));
  const way = state[axis.name] < 0 ? axis.less : axis.label;
  return axis.unit === "°" ? `${way} ${far}°` : `${far} ${axis.unit} ${way}`;
}

/** Return where a head of the rig is and how it is turned: its state without what is shown. */
function poseOf(head) {
  const { lenses, overlap, room, ...pose } = head.state;
  return pose;
}

const goTo = (head) => change(poseOf(head));
const isAt = (head) => Object.entries(poseOf(head)).every(([key, value]) => value === state[key]);
const inWords = (axis) => `${shortened(state[axis.name])} ${spoken(axis.unit)}`;
const shortened = (value) => String(Math.round(value * 100) / 100);

// ---- hands ----

// a head of the rig, or one moved by keys, may be farther out than the sliders go
const move = ({ name, low, high }, value) => {
  const here = state[name];
  change({ [name]: clip(value, Math.min(low, here), Math.max(high, here)) });
};
const hasModifier = (event) => event.ctrlKey || event.altKey || event.metaKey;

const ACTS = {
  l: () => at("lenses").disabled || change({ lenses: !state.lenses }),
  o: () => change({ overlap: !state.overlap }),
  b: () => change({ room: !state.room }),
  h: () => goTo(heads[(heads.findIndex(isAt) + 1) % heads.length]),
  r: () => {
    stage.reset();
    change(start);
  },
  p: () => at("save").click(),
};

addEventListener("keydown", (event) => {
  if (hasModifier(event) || !state || event.target.matches(TEXT_FIELDS)) return;
  if (!at("letters").checked) return;
  const key = event.key.toLowerCase();
  const axis = headAxes.find((one) => KEYS[one.name].includes(key));
  if (key in ACTS) {
    ACTS[key]();
  } else if (axis) {
    const way = KEYS[axis.name][0] === key ? -1 : 1;
    const steps = event.shiftKey ? MANY_STEPS : 1;
    const value = state[axis.name] + way * steps * axis.step;
    change({ [axis.name]: clip(value, -axis.farthest, axis.farthest) });
  }
});

at("lenses").onchange = (event) => change({ lenses: event.target.checked });
at("overlap").onchange = (event) => change({ overlap: event.target.checked });
at("room").onchange = (event) => change({ room: event.target.checked });
at("save").onclick = () => {
  say("save", "Saving …", false);
  asking.save.ask();
};

listen(stage);
for (const button of document.querySelectorAll("[data-orbit]")) {
  button.onclick = () => stage.press(button.dataset.orbit);
}

rigValues.begin({
  changed: changeValues,
  ask: (want, more) => asking[want].ask(0, more),
});
curve.begin(rigValues.set);
whenResized(() => {
  if (moving || !state) return; // what is drawn next has the new size
  if (shownWidth() > LEAST) asking.sharp.ask();
  else asking.pair.ask();
  if (own.has(rigKey())) tryOut();
});
connect();
