// A rig in a headset, by WebXR, at true scale: the headset alone says where each eye is and what it sees.
//
// WebXR's axes are x right, y up, z backward, in metres; the rig's are x right, y forward, z up, in mm.

const SCALE = 1000; // mm of a metre
const MIRROR = { every: 4, pixels: 480 }; // pictures in the headset for one on the page; its height

/** Tell whether there is a headset that this browser can show pictures in. */
export async function isThere() {
  try {
    return (await navigator.xr?.isSessionSupported("immersive-vr")) ?? false;
  } catch {
    return false; // the site or its owner forbids it
  }
}

/**
 * What is seen with a headset from a rig's seat.
 *
 * `on` has `draw(view, area)`, which draws what an eye sees, as `Drawing` does; `shown(eyes)` with the views of
 * both eyes; `lost()`, when the headset does not know where it is; `squeezed()`, the controller's grip button;
 * `ended()`. `eyePoint` is the design eye point, mm.
 */
export class Headset {
  constructor(gl, eyePoint, on) {
    Object.assign(this, { gl, eyePoint, on, session: null, space: null, seat: null, frames: 0 });
  }

  /** Begin to show pictures in the headset; fails with what the browser says against it. */
  async enter() {
    const session = await navigator.xr.requestSession("immersive-vr");
    Object.assign(this, { session, frames: 0 });
    session.addEventListener("end", () => this.end());
    try {
      await this.gl.makeXRCompatible();
      // depths of a `Drawing` are not those that a headset reckons with
      const baseLayer = new XRWebGLLayer(session, this.gl, { stencil: true, ignoreDepthValues: true });
      session.updateRenderState({ baseLayer });
      this.space = await session.requestReferenceSpace("local");
    } catch (error) {
      this.leave();
      throw error;
    }

    this.calibrate();
    session.addEventListener("select", () => this.calibrate());
    session.addEventListener("squeeze", () => this.on.squeezed());
    this.space.addEventListener("reset", () => this.calibrate());
    session.requestAnimationFrame((_, frame) => this.show(frame));
  }

  /** Let the place between the eyes, when they are next tracked, be the design eye point. */
  calibrate() {
    this.seat = null;
  }

  leave() {
    this.session?.end().catch(() => {}); // it may have ended by itself
  }

  end() {
    Object.assign(this, { session: null, space: null });
    this.gl.bindFramebuffer(this.gl.FRAMEBUFFER, null);
    this.on.ended();
  }

  show(frame) {
    const { gl, session } = this;
    session.requestAnimationFrame((_, next) => this.show(next));
    if (gl.isContextLost()) return;
    const layer = session.renderState.baseLayer;
    gl.bindFramebuffer(gl.FRAMEBUFFER, layer.framebuffer);
    const pose = frame.getViewerPose(this.space);
    if (pose) {
      this.draw(pose, layer);
    } else {
      this.blacken();
      this.on.lost();
    }
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
  }

  draw(pose, layer) {
    this.seat ??= seatOf(pose);
    for (const one of pose.views) {
      const { x, y, width, height } = layer.getViewport(one);
      this.on.draw(viewOf(one, this.seat, this.eyePoint), [x, y, width, height]);
    }
    const eyes = bothEyes(pose.views).map((one) => viewOf(one, this.seat, this.eyePoint));
    // an emulated headset may show its pictures on the page itself
    if (layer.framebuffer && this.frames++ % MIRROR.every === 0) this.mirror(eyes[0]);
    this.on.shown(eyes);
  }

  /** Draw what an eye sees on the page too, small and not each time. */
  mirror(view) {
    const { gl } = this;
    const { canvas } = gl;
    const [width, height] = [Math.round((MIRROR.pixels * canvas.clientWidth) / canvas.clientHeight), MIRROR.pixels];
    if (canvas.width !== width || canvas.height !== height) Object.assign(canvas, { width, height });
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    this.blacken();
    const shape = view.across / view.upright;
    const [across, up] = [Math.min(width, Math.round(height * shape)), Math.min(height, Math.round(width / shape))];
    this.on.draw(view, [Math.floor((width - across) / 2), Math.floor((height - up) / 2), across, up]);
  }

  blacken() {
    const { gl } = this;
    gl.clearColor(0, 0, 0, 1);
    gl.clear(gl.COLOR_BUFFER_BIT);
  }
}

// ---- from the headset's axes to the rig's ----

/** Return the views of the left and the right eye; a headset may have others beside. */
const bothEyes = (views) => ["left", "right"].map((name) => views.find((one) => one.eye === name) ?? views[0]);

/** Return a place and the axes that go with it, from the columns of its matrix. */
function placed({ matrix }) {
  const column = (number, sign) => [0, 1, 2].map((row) => sign * matrix[4 * number + row]);
  return { right: column(0, 1), up: column(1, 1), forward: column(2, -1), place: column(3, 1) };
}

/** Return where a head is: the place between its eyes, and the level way that its face points, x and z. */
function seatOf(pose) {
  const [left, right] = bothEyes(pose.views).map((one) => placed(one.transform).place);
  const [x, , z] = placed(pose.transform).forward;
  const length = Math.hypot(x, z);
  return { middle: left.map((value, k) => (value + right[k]) / 2), ahead: [x / length, z / length] };
}

const inRig = ([x, y, z], [aheadX, aheadZ]) => [aheadX * z - aheadZ * x, aheadX * x + aheadZ * z, y];

/** Return what an eye of a headset sees, as `Drawing` takes it. */
function viewOf({ transform, projectionMatrix: field }, { middle, ahead }, eyePoint) {
  const { place, ...axes } = placed(transform);
  const moved = inRig(place.map((value, k) => value - middle[k]), ahead);
  const [right, forward, up] = [axes.right, axes.forward, axes.up].map((axis) => inRig(axis, ahead));
  return {
    eye: eyePoint.map((value, k) => value + SCALE * moved[k]),
    ...{ right, forward, up },
    across: 1 / field[0],
    upright: 1 / field[5],
    shift: [field[8] / field[0], field[9] / field[5]],
  };
}
