// The 3D view: drawn by the browser, at the display's rate where it is quick; where it has no WebGL 2, by
// the server.

import { clip, finished } from "./page_parts.js";
import { eyesOf } from "./rig_shapes.js";
import { COLOURS } from "./stage_shaders.js";
import { StageDrawing } from "./stage_drawing.js";
import { cameraOf, headMiddle, movedBy, plus, reachAt, seenAt } from "./stage_view.js";

const ORBIT_KEYS = {
  ArrowLeft: ["azimuth", -10],
  ArrowRight: ["azimuth", 10],
  ArrowUp: ["elevation", 10],
  ArrowDown: ["elevation", -10],
  "+": ["distance", 1 / 1.2],
  "-": ["distance", 1.2],
};
const SHIFT_KEYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }; // with Shift
const SHIFT_STEP = 0.1; // of half the picture
const FARTHEST_SHIFT = 2; // radii of the ball around the rig
const MOST_PIXELS = 2; // of the canvas for one of the page, each way
const HEAD_SIZE = 110; // mm from a head's middle
const FINGER = 24; // pixels from there, at least, where the head is taken hold of
// while the head moves, ms between two pictures of the server, or more where drawing one takes long:
const SERVER_PAUSE = 1000;
const SERVER_PAUSES = 20; // so many times as long as it takes
// where the browser takes longer than this many ms, edges are smooth at rest only, and while the head moves there
// are pauses too, so many times as long as it takes:
const QUICK = 12;
const PAUSES = 12;
const PAUSES_DRAGGED = 2; // while the hand is on this view
const REST = 200; // ms
// while numbers of the rig change, ms between two rigs, or more where one takes long:
const TAKE_PAUSE = 250;
const TAKE_PAUSES = 10;
const ON = { antialias: false, powerPreference: "low-power" };

const dark = matchMedia("(prefers-color-scheme: dark)");

export class StageView {
  /**
   * `page.begin` is called with whether the browser draws, `page.move` with a place of the head (x, y, z) when it
   * is dragged, `page.ask` with a pause when the server is to draw, `page.tell` with what is wrong, or with
   * nothing when it is over.
   */
  constructor(canvas, page) {
    Object.assign(this, { canvas, page, key: null, drawing: null, state: null, surface: "" });
    Object.assign(this, { orbit: null, shift: [0, 0, 0], drawnAt: -Infinity });
    Object.assign(this, { takenAt: -Infinity, took: { smooth: 0, rough: 0, rig: 0, server: 0 } }); // ms
    this.held = null; // where the head was when a finger took hold of it
    this.isOver = false; // the mouse over the head
    canvas.addEventListener("webglcontextlost", (event) => this.lose(event));
    canvas.addEventListener("webglcontextrestored", () => this.recover());
    new ResizeObserver(() => this.drawing && this.redraw()).observe(canvas);
    dark.onchange = () => this.drawing && this.redraw();
  }

  /** Take what the rig's introduction tells of orbits and the head's reach. */
  begin({ orbit, orbit_limits, head_axes }) {
    this.start = orbit;
    this.orbit ??= { ...orbit };
    this.limits = orbit_limits;
    this.reach = head_axes;
  }

  /** Tell whether the browser draws, and begin to when first asked. */
  isOwn() {
    if (this.gl === undefined) {
      this.gl = this.canvas.getContext("webgl2", ON);
      this.page.begin(Boolean(this.gl));
    }
    return Boolean(this.gl);
  }

  /** Tell whether the shapes of a rig, by its key, are worth asking for. */
  needs(key) {
    return this.isOwn() && this.key !== key;
  }

  /** Take a rig while numbers of it change; seldom enough to leave the eyes' pictures most of the time. */
  takeSoon(...rig) {
    clearTimeout(this.taking);
    const wait = this.takenAt + Math.max(TAKE_PAUSE, TAKE_PAUSES * this.took.rig) - performance.now();
    this.taking = setTimeout(() => this.take(...rig), wait);
  }

  /** Take a rig; `taken` tells when it is drawn. */
  take(...rig) {
    clearTimeout(this.taking);
    if (this.isOwn()) this.taken = this.takeNow(...rig);
  }

  async takeNow(key, rig, pilot) {
    const isFirst = !this.rig;
    const start = performance.now();
    Object.assign(this, { key: rig.draft ? null : key, rig, pilot });
    this.prepare();
    await this.paint(this.isSlow() ? "rough" : "smooth");
    this.takenAt = performance.now();
    this.took.rig = this.takenAt - start;
    if (!isFirst) return this.redraw();
    // the first of a kind takes long, as programs are compiled; the next tells
    for (const kind of ["smooth", "rough", "rough", "smooth"]) if (this.isSlow()) await this.paint(kind);
  }

  prepare() {
    if (!this.rig || this.gl.isContextLost()) return;
    if (!this.drawing) {
      this.drawing = new StageDrawing(this.gl);
      if (this.room) this.drawing.takeRoom(this.room);
    }
    this.drawing.take(this.rig, this.pilot.pupilDistance);
  }

  lose(event) {
    event.preventDefault(); // so that it comes back
    this.drawing = null;
    this.page.tell("The 3D view waits for the graphics processor, which the browser has lost.");
  }

  recover() {
    this.page.tell("");
    this.prepare();
    this.redraw();
  }

  /** Take the head room's surface, by its name; without binary parts it is the one that is here. */
  takeRoom(name, binary) {
    this.surface = name;
    if (!binary.length) return;
    this.room = binary;
    this.drawing?.takeRoom(binary);
    this.redraw();
  }

  /** Show a state of the head; while it moves, seldom enough to leave the eyes' pictures most of the time. */
  show(state, moving) {
    this.state = state;
    if (this.isOwn()) this.redraw(moving ? (this.held ? PAUSES_DRAGGED : PAUSES) : 0);
    else this.page.ask(moving ? Math.max(SERVER_PAUSE, SERVER_PAUSES * this.took.server) : 0);
  }

  /** Show a picture that the server drew. */
  showServers(bitmap, took) {
    this.took.server = took;
    this.canvas.getContext("bitmaprenderer").transferFromImageBitmap(bitmap);
    this.count();
  }

  // ---- drawing ----

  /** Draw with the display's next picture, or after so many times as long as drawing takes. */
  redraw(pauses = 0) {
    if (!this.isOwn()) return this.page.ask(0);
    for (const timer of [this.timer, this.resting]) clearTimeout(timer);
    const kind = this.isSlow() ? "rough" : "smooth";
    const wait = this.isSlow() ? this.drawnAt + pauses * this.took.rough - performance.now() : 0;
    if (wait > 0) this.timer = setTimeout(() => this.redraw(), wait);
    else this.frame ||= requestAnimationFrame(() => this.paint(kind));
    if (this.isSlow()) this.resting = setTimeout(() => this.paint("smooth"), REST + Math.max(0, wait));
  }

  isSlow() {
    return this.took.smooth > QUICK;
  }

  async paint(kind) {
    this.frame = 0;
    const { canvas, gl, drawing, state } = this;
    if (!drawing || !state || gl.isContextLost() || !canvas.clientWidth) return;
    const pixel = Math.min(devicePixelRatio, MOST_PIXELS);
    const [width, height] = [canvas.clientWidth, canvas.clientHeight].map((side) => Math.round(side * pixel));
    if (canvas.width !== width || canvas.height !== height) Object.assign(canvas, { width, height });

    const start = performance.now();
    const ring = this.held || this.isOver ? this.hold() : 0;
    const room = state.room && Boolean(this.surface) && drawing.hasRoom;
    const colours = dark.matches ? COLOURS.dark : COLOURS.light;
    drawing.draw(this.view(), this.eyes(), { lenses: state.lenses, room, ring, colours, pixel, smooth: kind === "smooth" });
    this.count();
    return this.note(kind, start);
  }

  /** Note how long a picture of some kind took from its start, and when it was done. */
  async note(kind, start) {
    await finished(this.gl);
    this.drawnAt = performance.now();
    // the least of late, as others draw at the same time
    this.took[kind] = Math.min(this.drawnAt - start, 1.05 * (this.took[kind] || Infinity));
  }

  count() {
    const { dataset } = this.canvas;
    dataset.drawn = Number(dataset.drawn ?? 0) + 1;
  }

  view() {
    const { canvas, rig, orbit, shift } = this;
    return cameraOf(rig.ball, orbit, shift, canvas.clientWidth / canvas.clientHeight);
  }

  eyes() {
    return eyesOf(this.pilot, this.state);
  }

  // ---- the head ----

  /** Return how far from the head's middle it can be taken hold of, mm: at least a finger's breadth. */
  hold() {
    return Math.max(HEAD_SIZE, FINGER * this.pixelAt(headMiddle(this.eyes())));
  }

  /** Return how many mm a pixel of the page is, at a place. */
  pixelAt(place) {
    return (2 * reachAt(this.view(), place)) / this.canvas.clientHeight;
  }

  /** Tell whether the head can be taken hold of where a finger is, as `seenAt` tells places. */
  isHead([right, up]) {
    if (!this.drawing) return false;
    const view = this.view();
    const middle = headMiddle(this.eyes());
    const [x, y] = seenAt(view, middle);
    const far = Math.hypot((right - x) * (view.across / view.upright), up - y) * reachAt(view, middle);
    return far <= this.hold();
  }

  /** Show whether the mouse is over the head. */
  hover(isOver) {
    if (isOver === this.isOver) return;
    this.isOver = isOver;
    this.canvas.classList.toggle("on_head", isOver);
    this.redraw();
  }

  /** Take hold of the head, or let it go. */
  grasp(finger) {
    const { x, y, z } = this.state;
    this.held = finger && { finger, from: [x, y, z], mid: this.eyes().mid };
    this.redraw();
  }

  /** Move the head to be under a finger that took hold of it, in the plane that faces the viewer. */
  dragHead(finger) {
    const { finger: first, from, mid } = this.held;
    const far = finger.map((value, k) => value - first[k]);
    const moved = plus(from, movedBy(this.view(), mid, far)).map(Math.round);
    const within = ({ low, high }, k) => clip(moved[k], Math.min(low, from[k]), Math.max(high, from[k]));
    const [x, y, z] = ["x", "y", "z"].map((name, k) => within(this.reach.find((axis) => axis.name === name), k));
    this.page.move({ x, y, z });
  }

  // ---- orbit ----

  /** Do what a key of the view does; tell whether it is one. */
  press(key, withShift = false) {
    if (key === "Home") this.reset();
    else if (withShift && key in SHIFT_KEYS) this.slide(SHIFT_KEYS[key].map((value) => value * SHIFT_STEP));
    else if (key in ORBIT_KEYS) this.turn(...ORBIT_KEYS[key]);
    else return false;
    return true;
  }

  reset() {
    this.orbit = { ...this.start };
    this.shift = [0, 0, 0];
    this.redraw();
  }

  turn(name, by) {
    this.move(name, name === "distance" ? this.orbit[name] * by : this.orbit[name] + by);
  }

  move(name, value) {
    this.orbit[name] = name === "azimuth" ? value % 360 : clip(value, ...this.limits[name]);
    this.redraw();
  }

  /** Look so far to the right and up, half the picture being 1. */
  slide(far) {
    if (!this.drawing) return;
    const { middle, radius } = this.rig.ball;
    const most = FARTHEST_SHIFT * radius;
    const moved = plus(this.shift, movedBy(this.view(), plus(middle, this.shift), far));
    this.shift = moved.map((value) => clip(value, -most, most));
    this.redraw();
  }
}
