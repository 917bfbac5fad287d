// What the other eye sees, drawn as part ids, so that each place of an image can be tinted by who sees it.

const BESIDE = 0.2; // tangent of the angle by which eyes see a thing in different directions, as a rule at most
const OTHER = { left: "right", right: "left" };

/** Return what `WideDrawing` needs to tint the picture of an eye. */
export const tintingOf = ({ tints }, eyes, eye) => ({
  other: eyes[OTHER[eye]],
  tints: { both: tints.both, own: tints[eye] },
});

/** Return a flat view for the other eye that holds what may be in one so wide and high, pixels. */
export function around(view, width, height) {
  const [across, upright] = [view.across + BESIDE, view.upright + BESIDE];
  const size = [(width * across) / view.across, (height * upright) / view.upright].map(Math.ceil);
  return { all: [{ ...view, across, upright, place: [0, 0, ...size] }], width: size[0], height: size[1] };
}

/** A framebuffer to draw flat pictures into, side by side. */
export class FlatTarget {
  constructor(gl) {
    Object.assign(this, { gl, width: 0, height: 0 });
  }

  /** Bind it, with at least this size; it only ever grows. */
  bind(width, height) {
    const { gl } = this;
    if (this.width < width || this.height < height) {
      this.free();
      this.make(Math.max(width, this.width), Math.max(height, this.height));
    }
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.framebuffer);
  }

  make(width, height) {
    const { gl } = this;
    const texture = gl.createTexture();
    gl.bindTexture(gl.TEXTURE_2D, texture);
    gl.texStorage2D(gl.TEXTURE_2D, 1, gl.RGBA8, width, height);
    const filters = [gl.TEXTURE_MIN_FILTER, gl.TEXTURE_MAG_FILTER];
    for (const name of filters) gl.texParameteri(gl.TEXTURE_2D, name, gl.NEAREST);
    gl.bindTexture(gl.TEXTURE_2D, null);
    const depths = gl.createRenderbuffer();
    gl.bindRenderbuffer(gl.RENDERBUFFER, depths);
    gl.renderbufferStorage(gl.RENDERBUFFER, gl.DEPTH24_STENCIL8, width, height);
    const framebuffer = gl.createFramebuffer();
    gl.bindFramebuffer(gl.FRAMEBUFFER, framebuffer);
    gl.framebufferTexture2D(gl.FRAMEBUFFER, gl.COLOR_ATTACHMENT0, gl.TEXTURE_2D, texture, 0);
    gl.framebufferRenderbuffer(gl.FRAMEBUFFER, gl.DEPTH_STENCIL_ATTACHMENT, gl.RENDERBUFFER, depths);
    Object.assign(this, { framebuffer, texture, depths, width, height });
  }

  /** Let the graphics memory go. */
  free() {
    const { gl } = this;
    if (!this.framebuffer) return;
    gl.deleteFramebuffer(this.framebuffer);
    gl.deleteTexture(this.texture);
    gl.deleteRenderbuffer(this.depths);
  }
}

/** What the other eye sees of the rig of a `Drawing`. */
export class Watch {
  constructor(drawing) {
    this.drawing = drawing;
    this.target = new FlatTarget(drawing.gl);
  }

  /**
   * Draw what the other eye sees in flat views, each with its `place` (left, bottom, width, height; pixels) in a
   * texture so wide and high; return what `Drawing` tints images by. `tints` are the colours, sRGB of 0 to 1, of
   * what `both` eyes see and what but one's `own` eye sees. Another framebuffer is bound after it.
   */
  look(eye, { all, width, height }, tints, options) {
    const ways = new Map(); // of each image, by its part
    this.target.bind(width, height);
    for (const view of all) {
      this.drawing.draw({ ...view, eye }, { ...options, area: view.place, ids: true });
      for (const { image, way, mark } of this.drawing.steps) {
        if (!image) continue;
        const found = ways.get(image.part) ?? [];
        ways.set(image.part, [...found, { clip: way.clip, area: view.place, mark }]);
      }
    }
    return { ...tints, ways, texture: this.target.texture };
  }

  /** Let the graphics memory go. */
  free() {
    this.target.free();
  }
}
