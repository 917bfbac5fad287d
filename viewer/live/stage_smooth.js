// Smooth edges: some samples for each pixel, of which the canvas gets the mean.

const MOST_SAMPLES = 4;

/** A frame as large as the canvas of a WebGL2 context. What is drawn between `begin` and `end` is smooth. */
export class SmoothFrame {
  constructor(gl) {
    Object.assign(this, { gl, size: [0, 0], frame: gl.createFramebuffer() });
    this.samples = Math.min(MOST_SAMPLES, gl.getParameter(gl.MAX_SAMPLES));
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.frame);
    this.layers = [
      [gl.COLOR_ATTACHMENT0, gl.RGBA8],
      [gl.DEPTH_ATTACHMENT, gl.DEPTH_COMPONENT24],
    ].map(([place, kind]) => {
      const layer = gl.createRenderbuffer();
      gl.bindRenderbuffer(gl.RENDERBUFFER, layer);
      gl.framebufferRenderbuffer(gl.FRAMEBUFFER, place, gl.RENDERBUFFER, layer);
      return [layer, kind];
    });
  }

  begin() {
    const { gl } = this;
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.frame);
    const size = [gl.drawingBufferWidth, gl.drawingBufferHeight];
    if (String(size) === String(this.size)) return;
    this.size = size;
    for (const [layer, kind] of this.layers) {
      gl.bindRenderbuffer(gl.RENDERBUFFER, layer);
      gl.renderbufferStorageMultisample(gl.RENDERBUFFER, this.samples, kind, ...size);
    }
  }

  end() {
    const { gl } = this;
    gl.bindFramebuffer(gl.READ_FRAMEBUFFER, this.frame);
    gl.bindFramebuffer(gl.DRAW_FRAMEBUFFER, null);
    const area = [0, 0, ...this.size];
    gl.blitFramebuffer(...area, ...area, gl.COLOR_BUFFER_BIT, gl.NEAREST);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
  }
}
