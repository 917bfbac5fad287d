// A headset with one controller, emulated by iwer, which is loaded before; SIDE, OUTER, INNER and PUPILS too.

const analog = (id, eventTrigger) => ({ id, type: "analog", eventTrigger });
const right = {
  gamepad: { mapping: "xr-standard", axes: [], buttons: [analog("trigger", "select"), analog("grip", "squeeze")] },
  numHapticActuators: 0,
};
const device = new IWER.XRDevice({
  name: "emulated",
  controllerConfig: { profileId: "emulated", fallbackProfileIds: [], layout: { right } },
  supportedSessionModes: ["inline", "immersive-vr"],
  supportedFeatures: ["viewer", "local"],
  supportedFrameRates: [60],
  isSystemKeyboardSupported: false,
  internalNominalFrameRate: 60,
  environmentBlendModes: { "immersive-vr": "opaque" },
  interactionMode: "world-space",
  userAgent: navigator.userAgent,
});
device.stereoEnabled = true;
device.ipd = PUPILS / 1000;
device.installRuntime({ forceInstall: true });
const inside = Object.getOwnPropertySymbols(device).map((name) => device[name]).find((one) => one.onBaseLayerSet);

/** Return once so many frames have been drawn. */
function drawn(frames) {
  return new Promise((done) => {
    const next = (left) => device.activeSession.requestAnimationFrame(() => (left > 1 ? next(left - 1) : done()));
    next(frames);
  });
}

/** Move and turn the head: metres, a quaternion. */
function moveHead(place, turn) {
  device.position.set(...place);
  device.quaternion.set(...turn);
}

/** Press a button of the controller, and let it go. */
async function press(button) {
  const { right } = device.controllers;
  right.updateButtonValue(button, 1);
  await drawn(2);
  right.updateButtonValue(button, 0);
  await drawn(3);
}

// ---- as headsets are, but iwer is not ----

let target;
let gl;

/** Have a framebuffer apart from the page, fields that are not symmetric, and a space that is level. */
function asHeadsetsAre() {
  inside.onBaseLayerSet = () => {}; // it would take the canvas out of the page
  window.XRWebGLLayer = class extends XRWebGLLayer {
    constructor(session, context, wanted) {
      super(session, context, wanted);
      gl = context;
      target = gl.createFramebuffer();
      gl.bindFramebuffer(gl.FRAMEBUFFER, target);
      attach(gl.RGBA8, gl.COLOR_ATTACHMENT0);
      attach(wanted.stencil ? gl.DEPTH24_STENCIL8 : gl.DEPTH_COMPONENT24, gl.DEPTH_STENCIL_ATTACHMENT);
      gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    }
    get framebuffer() {
      return target;
    }
    get context() {
      // iwer would clear the page's picture
      const [clear, clearColor, clearDepth, clearStencil] = Array(4).fill(() => {});
      return { canvas: gl.canvas, getParameter: () => [], clear, clearColor, clearDepth, clearStencil };
    }
    getViewport({ eye }) {
      return { x: eye === "right" ? SIDE : 0, y: 0, width: SIDE, height: SIDE };
    }
  };
  Object.defineProperty(XRView.prototype, "projectionMatrix", {
    get() {
      const [left, right] = this.eye === "left" ? [OUTER, INNER] : [INNER, OUTER];
      return field(left, right, OUTER, INNER);
    },
  });
  const { requestReferenceSpace } = XRSession.prototype;
  XRSession.prototype.requestReferenceSpace = function (kind) {
    const turn = [...device.quaternion.quat];
    device.quaternion.set(0, 0, 0, 1);
    inside.updateViews(); // iwer's space is then as level as the head is
    device.quaternion.set(...turn);
    return requestReferenceSpace.call(this, kind);
  };
}

function attach(format, place) {
  const buffer = gl.createRenderbuffer();
  gl.bindRenderbuffer(gl.RENDERBUFFER, buffer);
  gl.renderbufferStorage(gl.RENDERBUFFER, format, 2 * SIDE, SIDE);
  gl.framebufferRenderbuffer(gl.FRAMEBUFFER, place, gl.RENDERBUFFER, buffer);
}

/** Return a projection matrix, column by column, from the tangents of a field's edges. */
function field(left, right, down, up) {
  const [across, upright] = [left + right, down + up];
  const columns = [
    ...[2 / across, 0, 0, 0],
    ...[0, 2 / upright, 0, 0],
    ...[(right - left) / across, (up - down) / upright, -1, -1],
    ...[0, 0, -0.2, 0],
  ];
  return new Float32Array(columns);
}

// ---- what is drawn ----

/** Let the page draw part ids instead of colours, as long as the window says so. */
async function drawIds() {
  window.ids = true;
  const { Drawing } = await import("drawing");
  const { draw } = Drawing.prototype;
  Drawing.prototype.draw = function (view, options) {
    draw.call(this, view, { ...options, ids: window.ids });
  };
}

/** Return what a framebuffer holds, RGBA from the lower left corner, base64; null is the page's canvas. */
function pixels(framebuffer, width, height) {
  const read = new Uint8Array(4 * width * height);
  gl.bindFramebuffer(gl.FRAMEBUFFER, framebuffer);
  gl.readPixels(0, 0, width, height, gl.RGBA, gl.UNSIGNED_BYTE, read);
  gl.bindFramebuffer(gl.FRAMEBUFFER, null);
  return btoa(Array.from(read, (value) => String.fromCharCode(value)).join(""));
}

/** Return what is in the headset, side by side, after the next frames. */
async function inHeadset() {
  await drawn(2);
  return pixels(target, 2 * SIDE, SIDE);
}

/** Return the width of the page's canvas, and its picture, when one has been drawn. */
async function mirrored() {
  const { canvas } = gl;
  for (;;) {
    const before = pixels(null, canvas.width, canvas.height);
    await drawn(1);
    const after = pixels(null, canvas.width, canvas.height);
    if (after !== before) return [canvas.width, after];
  }
}

/** Return the middle row of the page's canvas after each of so many frames, as text. */
async function onPage(frames) {
  const { context } = device.activeSession.renderState.baseLayer;
  const row = new Uint8Array(4 * context.drawingBufferWidth);
  const rows = [];
  while (rows.length < frames) {
    await drawn(1);
    context.readPixels(0, context.drawingBufferHeight / 2, row.length / 4, 1, context.RGBA, context.UNSIGNED_BYTE, row);
    rows.push(String(row));
  }
  return rows;
}

function loseGraphics() {
  const found = gl.getExtension("WEBGL_lose_context");
  found.loseContext();
  setTimeout(() => found.restoreContext(), 50);
}

Object.assign(window, { device, inside, drawn, moveHead, press, loseGraphics });
Object.assign(window, { drawIds, inHeadset, mirrored, onPage });
