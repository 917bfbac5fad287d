// The live preview's page: shows what the server draws, and asks for the newest state, one request of a kind at a time.

const KEYS = { x: "nm", y: "gt", z: "ju", turn: "ad", nod: "sw", tilt: "zc" }; // less and more of each reach
const MANY_STEPS = 5; // with Shift
const REST = 180; // ms without a change, after which the head rests
const SHOWN = 50; // ms after which the controls show a change; a mouse tells of more moves than anyone can read
const STAGE_PAUSE = 1000; // ms between two 3D views while the head moves, or more where drawing one takes long:
const STAGE_PAUSES = 20; // so many times as long as it takes
const ORBITS = {
  ArrowLeft: ["azimuth", -10], ArrowRight: ["azimuth", 10], ArrowUp: ["elevation", 10], ArrowDown: ["elevation", -10],
  "+": ["distance", 1 / 1.2], "-": ["distance", 1.2],
};
const LIMITS = { elevation: [-89, 89], distance: [0.2, 3] };
const DEGREES_PER_PIXEL = 0.4; // of a drag in the 3D view

const at = (id) => document.getElementById(id);
const clip = (value, low, high) => Math.min(Math.max(value, low), high);

let socket;
let look = null;
let start = null; // look and orbit at first, as the server has them
let orbit = null;
let reaches = [];
let heads = [];
let resting = 0; // timer
let moving = false;
let stageTook = 0; // ms, the last time
let showing = 0; // timer
let shown = 0; // number of the newest pair in the canvases

// ---- asking -----------------------------------------------------------------------------------------

/** Requests of one kind: at most one on its way, then the newest state, and none sooner than a pause after the last. */
class Asking {
  constructor(want) {
    Object.assign(this, { want, number: 0, busy: false, asked: false, last: -Infinity, pause: 0, timer: 0 });
  }

  ask(pause = 0) {
    this.asked = true;
    this.pause = pause;
    this.pump();
  }

  pump() {
    if (!this.asked || this.busy || !look || socket?.readyState !== WebSocket.OPEN) return;
    const wait = this.last + this.pause - performance.now();
    clearTimeout(this.timer);
    if (wait > 0) {
      this.timer = setTimeout(() => this.pump(), wait);
      return;
    }
    Object.assign(this, { busy: true, asked: false, last: performance.now(), number: this.number + 1 });
    socket.send(JSON.stringify({ want: this.want, number: this.number, look, moving, orbit }));
  }

  answered(number) {
    if (number === this.number) this.busy = false;
    this.pump();
  }
}

const asking = Object.fromEntries(["pair", "stage", "numbers", "save"].map((want) => [want, new Asking(want)]));

/** Change what is looked at, and show it: at once and quickly, then in full when nothing changes any more. */
function change(what) {
  look = { ...look, ...what };
  moving = true;
  say("save", "");
  clearTimeout(resting);
  resting = setTimeout(rest, REST);
  showing ||= setTimeout(showControls, SHOWN);
  asking.pair.ask();
  asking.stage.ask(Math.max(STAGE_PAUSE, STAGE_PAUSES * stageTook));
}

function rest() {
  moving = false;
  awaitAnswers();
  asking.pair.ask(); // the rest follows it
  describe();
}

function awaitAnswers() {
  for (const one of ["eyes", "numbers"]) put(at(one), { ariaBusy: "true" });
}

function turnStage(key) {
  if (key === "Home") orbit = { ...start.orbit };
  else {
    const [name, by] = ORBITS[key];
    moveOrbit(name, name === "distance" ? orbit[name] * by : orbit[name] + by);
  }
  asking.stage.ask();
}

function moveOrbit(name, value) {
  orbit[name] = name === "azimuth" ? value % 360 : clip(value, ...LIMITS[name]);
}

// ---- answers ----------------------------------------------------------------------------------------

const answers = {
  rig(facts) {
    at("name").textContent = facts.name;
    document.title = `${facts.name}: what each eye sees`;
    start ??= { look: facts.start, orbit: facts.orbit };
    look ??= start.look;
    orbit ??= { ...start.orbit };
    reaches = facts.reaches;
    heads = facts.heads;
    at("lenses").disabled = !facts.lenses;
    at("problems").replaceChildren(...facts.problems.map((line) => element("p", {}, line)));
    if (facts.problems.length) at("problems").prepend(element("p", {}, "The rig file was saved with what cannot be used; the last good one is shown:"));
    if (!at("reaches").children.length) buildReaches();
    buildHeads();
    showControls();
    rest();
  },

  async pair(facts, pictures) {
    asking.pair.answered(facts.number);
    say("pose", facts.problem);
    say("refused", "");
    if (!facts.moving && !moving) for (const want of ["stage", "numbers"]) asking[want].ask();
    at("eyes").classList.toggle("stale", Boolean(facts.problem));
    if (facts.problem) return;
    const bitmaps = await Promise.all(pictures.map((picture) => createImageBitmap(picture)));
    if (facts.number < shown) return;
    shown = facts.number;
    ["left", "right"].forEach((eye, index) => onto(at(eye), bitmaps[index]));
    const { dataset } = at("eyes");
    dataset.drawn = Number(dataset.drawn ?? 0) + 1;
    dataset.took = facts.took;
    if (!facts.moving && !moving) at("eyes").ariaBusy = "false";
  },

  async stage(facts, pictures) {
    asking.stage.answered(facts.number);
    at("stage_problem").textContent = facts.problem ?? "";
    if (facts.problem) return;
    stageTook = facts.took;
    onto(at("stage"), await createImageBitmap(pictures[0]));
    at("stage").dataset.drawn = Number(at("stage").dataset.drawn ?? 0) + 1;
  },

  numbers(facts) {
    asking.numbers.answered(facts.number);
    if (moving || facts.problem) return;
    at("numbers").replaceChildren(...facts.lines.map(numberLine));
    at("numbers").ariaBusy = "false";
  },

  save(facts, pictures) {
    asking.save.answered(facts.number);
    say("save", facts.problem ?? `Saved as ${facts.name}`, Boolean(facts.problem));
    if (facts.problem) return;
    const link = element("a", { href: URL.createObjectURL(pictures[0]), download: facts.name });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
  },

  refused(facts) {
    for (const one of Object.values(asking)) one.busy = false;
    say("refused", facts.problem);
  },
};

/** Take a message apart: length, JSON, pictures; see the server's `packed`. */
function receive(message) {
  const length = new DataView(message).getUint32(0);
  const facts = JSON.parse(new TextDecoder().decode(new Uint8Array(message, 4, length)));
  let from = 4 + length;
  const pictures = facts.sizes.map((size) => new Blob([message.slice(from, (from += size))]));
  answers[facts.kind](facts, pictures);
}

function connect() {
  socket = new WebSocket(`ws://${location.host}/live`);
  socket.binaryType = "arraybuffer";
  socket.onmessage = (event) => receive(event.data);
  socket.onopen = () => {
    say("line", "");
    say("save", "");
    for (const one of Object.values(asking)) one.busy = false;
  };
  socket.onclose = () => {
    say("line", "Seamsight has ended. Start seamsight page again with the same --port, and this page goes on.");
    setTimeout(connect, 1500);
  };
}

// ---- what stands on the page ------------------------------------------------------------------------

const onto = (canvas, bitmap) => canvas.getContext("bitmaprenderer").transferFromImageBitmap(bitmap);

const said = {};

/** Say something in the status line, or, with no text, that it is over. */
function say(about, text, wrong = true) {
  if (text) said[about] = { text, wrong };
  else delete said[about];
  const lines = Object.values(said);
  const whole = lines.map((line) => line.text).join(" · ");
  if (at("status").textContent !== whole) at("status").textContent = whole;
  at("status").classList.toggle("wrong", lines.some((line) => line.wrong));
}

function element(name, properties = {}, ...children) {
  const made = Object.assign(document.createElement(name), properties);
  made.append(...children);
  return made;
}

function numberLine(line) {
  const [subject, ...rest] = line.split(": ");
  return element("li", {}, element("strong", {}, `${subject}: `), rest.join(": "));
}

function buildReaches() {
  for (const reach of reaches) {
    const row = at("reach").content.cloneNode(true).firstElementChild;
    const [label, slider, field, unit] = row.children;
    Object.assign(slider, { id: `slide_${reach.key}`, min: reach.low, max: reach.high, step: reach.step });
    Object.assign(field, { id: `type_${reach.key}`, min: reach.low, max: reach.high, step: "any" });
    label.htmlFor = slider.id;
    label.textContent = reach.label;
    unit.textContent = reach.unit;
    field.setAttribute("aria-label", `${reach.label}, ${spoken(reach.unit)}`);
    slider.oninput = () => {
      move(reach, slider.valueAsNumber);
      slider.ariaValueText = inWords(reach); // at once, as it is read out at once
    };
    field.oninput = () => Number.isFinite(field.valueAsNumber) && move(reach, field.valueAsNumber);
    field.onchange = () => (field.value = shortened(look[reach.key]));
    at("reaches").append(row);
    const [less, more] = KEYS[reach.key].toUpperCase();
    const keys = element("td", {}, element("kbd", {}, less), " less, ", element("kbd", {}, more), " more");
    at("keys").append(element("tr", {}, element("th", { scope: "row" }, reach.label), keys));
  }
}

function buildHeads() {
  at("heads").replaceChildren(
    ...heads.map((head) => element("button", { type: "button", onclick: () => goTo(head) }, head.name)),
  );
}

/** Make every control show the state; a field that is being typed in is left alone. */
function showControls() {
  clearTimeout(showing);
  showing = 0;
  for (const { key, unit, low, high } of reaches) {
    const [slider, field] = [at(`slide_${key}`), at(`type_${key}`)];
    put(slider, { min: String(Math.min(low, look[key])), max: String(Math.max(high, look[key])) });
    put(slider, { value: String(look[key]), ariaValueText: inWords({ key, unit }) });
    if (document.activeElement !== field) put(field, { value: shortened(look[key]) });
  }
  [...at("heads").children].forEach((button, index) => put(button, { ariaPressed: String(isAt(heads[index])) }));
  put(at("lenses"), { checked: look.lenses });
  put(at("overlap"), { checked: look.overlap });
  put(at("legend"), { hidden: !look.overlap });
  put(at("where"), { textContent: place() });
  if (moving) awaitAnswers();
}

/** Write only what differs, since each write costs the page a look at its layout. */
function put(target, properties) {
  for (const [name, value] of Object.entries(properties)) if (target[name] !== value) target[name] = value;
}

function describe() {
  const how = `${place()}, lenses ${look.lenses ? "in" : "left out"}${look.overlap ? ", colours tell who sees what" : ""}`;
  for (const eye of ["left", "right"]) at(eye).setAttribute("aria-label", `What the ${eye} eye sees. Head: ${how}`);
}

function place() {
  const name = heads.find(isAt)?.name;
  const parts = reaches.filter(({ key }) => look[key]).map(({ key, label, unit }) => `${label} ${shortened(look[key])} ${unit}`);
  return [name, parts.join(", ")].filter(Boolean).join(": ") || "moved";
}

function goTo(head) {
  const { lenses, overlap, ...place } = head.look;
  change(place);
}

const isAt = (head) => Object.keys(KEYS).every((key) => head.look[key] === look[key]);
const spoken = (unit) => ({ mm: "millimetres", "°": "degrees" })[unit] ?? unit;
const inWords = ({ key, unit }) => `${shortened(look[key])} ${spoken(unit)}`;
const shortened = (value) => String(Math.round(value * 100) / 100);

// ---- hands ------------------------------------------------------------------------------------------

// a head of the rig may be farther out than the sliders go
const move = (reach, value) => {
  const here = look[reach.key];
  change({ [reach.key]: clip(value, Math.min(reach.low, here), Math.max(reach.high, here)) });
};
const takesText = (target) => target.matches("input:not([type=range], [type=checkbox]), textarea, select");

const ACTS = {
  l: () => at("lenses").disabled || change({ lenses: !look.lenses }),
  o: () => change({ overlap: !look.overlap }),
  h: () => goTo(heads[(heads.findIndex(isAt) + 1) % heads.length]),
  r: () => {
    turnStage("Home");
    change(start.look);
  },
  p: () => at("save").click(),
};

addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.altKey || event.metaKey || !look || takesText(event.target)) return;
  if (!at("letters").checked) return;
  const key = event.key.toLowerCase();
  const reach = reaches.find((one) => KEYS[one.key].includes(key));
  if (key in ACTS) ACTS[key]();
  else if (reach) {
    const steps = (KEYS[reach.key][0] === key ? -1 : 1) * (event.shiftKey ? MANY_STEPS : 1);
    move(reach, look[reach.key] + steps * reach.step);
  }
});

at("lenses").onchange = (event) => change({ lenses: event.target.checked });
at("overlap").onchange = (event) => change({ overlap: event.target.checked });
at("save").onclick = () => {
  say("save", "Saving …", false);
  asking.save.ask();
};

at("stage").onkeydown = (event) => {
  const key = event.key === "=" ? "+" : event.key;
  if (event.ctrlKey || event.altKey || event.metaKey || !(key in ORBITS || key === "Home")) return;
  event.preventDefault();
  turnStage(key);
};
at("stage").onpointerdown = (event) => at("stage").setPointerCapture(event.pointerId);
at("stage").onpointermove = (event) => {
  if (!at("stage").hasPointerCapture(event.pointerId)) return;
  moveOrbit("azimuth", orbit.azimuth - event.movementX * DEGREES_PER_PIXEL);
  moveOrbit("elevation", orbit.elevation + event.movementY * DEGREES_PER_PIXEL);
  asking.stage.ask();
};
for (const button of document.querySelectorAll("[data-orbit]")) button.onclick = () => turnStage(button.dataset.orbit);

connect();
