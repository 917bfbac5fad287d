// Pictures that the browser draws itself while the head moves. Where it cannot, or is too slow, the server
// draws them; what is shown at rest always comes from there.

import { Drawing } from "./drawing.js";
import { heightOf } from "./page_eyes.js";
import { Pace, QUICK } from "./page_pace.js";
import { finished } from "./page_parts.js";
import { eyesOf } from "./rig_shapes.js";
import { tintingOf } from "./watch.js";
import { WideDrawing } from "./wide_drawing.js";

const TRIED = 10; // pairs at most, of which the quickest tells how long one takes: code is compiled at the first ones
const RETRY = 10_000; // ms, after which to try again what was too slow: the machine may have been busy

export class OwnPictures {
  constructor() {
    this.key = null; // of the rig that is drawn
    this.took = 0; // ms, the last pair that was seen
    this.triedAt = -Infinity;
    this.canvas = globalThis.OffscreenCanvas && new OffscreenCanvas(1, 1);
    this.gl = this.canvas?.getContext("webgl2", { antialias: false });
    this.canvas?.addEventListener("webglcontextlost", (event) => {
      event.preventDefault(); // it comes back then, without what was in it
      Object.assign(this, { key: null, drawing: null });
    });
  }

  /** Tell whether pictures of a rig, by its key, can be drawn here quickly. */
  has(key) {
    return this.key === key && this.isReady();
  }

  /** Tell whether pictures of some rig can be drawn here quickly. */
  isReady() {
    return this.key !== null && this.isQuick && !this.isLost();
  }

  /** Tell whether the shapes of a rig are worth asking for: others, or those that were made in haste. */
  needs(key) {
    return (this.key !== key || this.isDraft) && !this.isLost();
  }

  /** Tell whether it is worth another try to draw a rig quickly. */
  isWorthATry(key) {
    return this.key === key && !this.isQuick && performance.now() - this.triedAt > RETRY && !this.isLost();
  }

  isLost() {
    return !this.gl || this.gl.isContextLost();
  }

  /** Take a rig, and what the server tells of it. */
  take(key, { pilot, projection }, rig) {
    if (this.isLost()) return;
    if (this.drawing) {
      this.drawing.takeRig(rig);
    } else {
      this.drawing = new Drawing(this.gl, rig);
      this.wide = new WideDrawing(this.drawing);
    }
    Object.assign(this, { key, pilot, projection, isDraft: rig.draft });
    this.hasGrooves = rig.lenses.some((lens) => lens.grooved);
  }

  /**
   * Draw some pairs that nobody sees, up to the width that is shown; find whether they are drawn in time, or
   * sooner than by a server that takes so long (ms). This is left when all is not `isStill` any more: what else is
   * drawn then takes its time.
   */
  async tryOut(shown, state, server, isStill) {
    if (!this.drawing) return;
    const pace = new Pace(shown);
    for (const width of pace.widths) {
      let took = Infinity;
      for (let number = 0; number < TRIED && took > QUICK; number++) {
        const one = await this.timed(() => this.pair(state, width).forEach((picture) => picture.close()));
        took = Math.min(took, one);
        if (!isStill() || this.isLost() || !this.drawing) return;
      }
      if (!pace.try(width, took)) break;
    }
    this.pace = pace;
    this.isQuick = pace.isQuick(server);
    this.triedAt = performance.now();
    pace.start(); // the head may be moving
  }

  /** Show a pair, as wide as is quick; return when it is drawn. */
  async draw(state, show) {
    this.took = await this.timed(() => show(this.pair(state, this.pace.width)));
    this.pace.note(this.took);
  }

  /** Return what the left and the right eye see. */
  pair(state, width) {
    const eyes = eyesOf(this.pilot, state);
    const [area, { canvas }] = [[0, 0, width, heightOf(width)], this];
    if (canvas.width !== width) [canvas.width, canvas.height] = area.slice(2);
    return ["left", "right"].map((eye) => {
      const tinting = state.overlap ? tintingOf(this.drawing.rig, eyes, eye) : {};
      this.wide.draw(eyes[eye], this.projection, area, { lenses: state.lenses, draft: true, ...tinting });
      return this.canvas.transferToImageBitmap();
    });
  }

  /** Return how long something takes until it is drawn, ms. */
  async timed(act) {
    const start = performance.now();
    act();
    await finished(this.gl);
    return performance.now() - start;
  }
}
