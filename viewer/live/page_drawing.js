// Pictures that the browser draws itself while the head moves. Where it cannot, or is too slow, the server
// draws them; what is shown at rest always comes from there.

import { Drawing } from "./drawing.js";
import { drawable, eyesOf } from "./rig_shapes.js";
import { WideDrawing } from "./wide_drawing.js";

const QUICK = 30; // ms of a pair, up to which the browser's own are good whatever the server takes
const TRIED = 3; // pairs, of which the last tells how long one takes: programs are compiled for the first

export class OwnPictures {
  constructor(width, height) {
    this.area = [0, 0, width, height];
    this.key = null; // of the rig that is drawn
    this.took = Infinity; // ms of a pair
    this.canvas = globalThis.OffscreenCanvas && new OffscreenCanvas(width, height);
    this.gl = this.canvas?.getContext("webgl2", { antialias: false });
    this.canvas?.addEventListener("webglcontextlost", (event) => {
      event.preventDefault(); // it comes back then, without what was in it
      Object.assign(this, { key: null, tried: null, drawing: null });
    });
  }

  /** Tell whether pictures of a rig, by its key, can be drawn here. */
  has(key) {
    return this.key === key && !this.isLost();
  }

  /** Tell whether the shapes of a rig are worth asking for. */
  needs(key) {
    return this.tried !== key && !this.isLost();
  }

  isLost() {
    return !this.gl || this.gl.isContextLost();
  }

  /**
   * Take a rig's shapes, as the server tells them, and draw some pairs that nobody sees: the first one takes
   * long. A pair that takes longer than the server's is drawn there.
   */
  async take(key, { shapes, pilot, projection }, binary, state, server) {
    const rig = await drawable(shapes, binary);
    if (this.isLost()) return;
    if (this.drawing) for (const one of [this.drawing, this.wide]) one.free();
    this.drawing = new Drawing(this.gl, rig);
    this.wide = new WideDrawing(this.drawing);
    Object.assign(this, { key: null, tried: key, pilot, projection });
    this.hasGrooves = rig.lenses.some((lens) => lens.grooved);
    for (let number = 0; number < TRIED; number++) {
      const start = performance.now();
      for (const picture of this.pair(state)) picture.close();
      await this.finished();
      this.took = performance.now() - start;
    }
    if (!this.isLost() && this.took < Math.max(QUICK, server)) this.key = key;
  }

  /** Return what the left and the right eye see. */
  pair(state) {
    const eyes = eyesOf(this.pilot, state);
    return ["left", "right"].map((eye) => {
      this.wide.draw(eyes[eye], this.projection, this.area, { lenses: state.lenses });
      return this.canvas.transferToImageBitmap();
    });
  }

  /** Wait until all is drawn. */
  async finished() {
    const { gl } = this;
    const drawn = gl.fenceSync(gl.SYNC_GPU_COMMANDS_COMPLETE, 0);
    gl.flush();
    while (!this.isLost() && gl.getSyncParameter(drawn, gl.SYNC_STATUS) !== gl.SIGNALED) {
      await new Promise((done) => setTimeout(done, 1));
    }
    gl.deleteSync(drawn);
  }
}
