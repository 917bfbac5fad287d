// Draws a rig from outside, with WebGL2: parts with their edges, screens with their pictures, clear lenses,
// virtual images, the head, its lines of sight and its room. Lengths are mm, in the rig's axes.

import { dot, program, tellSides } from "./drawing.js";
import { PictureTextures } from "./picture_textures.js";
import { BYTES, edgesOf, facesBetween, facesOf, headFaces, PLACES } from "./stage_meshes.js";
import * as shaders from "./stage_shaders.js";
import { SmoothFrame } from "./stage_smooth.js";
import { clipOf, headMiddle, plus, seenFrom, sights } from "./stage_view.js";

const LIGHT = [-0.35, 0.6, 1]; // where the light is, as seen from the camera: left, above, behind
const MATT = [0.36, 0.7]; // share of a colour shown in the shade, and that added where light falls straight
const GLOWING = [1, 0]; // shown as it is
const NEARER = 0.0008; // of its distance by which a line is drawn nearer, so that it shows on its own part
const OPACITY = { lens: 0.22, image: 0.12, room: 0.4, headInRoom: 0.35 };
const WIDTH = { edge: 1, rim: 1.5, sight: 1.6, ring: 2 }; // of lines, pixels of the page
const RING_STEPS = 48;
const STAYS = 2; // of what is kept: the head room, and lines that move

/** A rig seen from outside, in a WebGL2 context. */
export class StageDrawing {
  constructor(gl) {
    Object.assign(this, { gl, kept: [], textures: new PictureTextures(gl, gl.RGBA, gl.LINEAR) });
    this.lit = program(gl, shaders.LIT, shaders.LIT_FRAGMENT, PLACES);
    this.shown = program(gl, shaders.SHOWN, shaders.SHOWN_FRAGMENT, PLACES.slice(0, 1));
    this.line = program(gl, shaders.LINE, shaders.LINE_FRAGMENT, ["a_from", "a_to"]);
    this.ground = program(gl, shaders.GROUND, shaders.GROUND_FRAGMENT, []);
    this.smooth = new SmoothFrame(gl);
    this.room = this.faces(facesBetween([], []));
    this.moving = this.lines([]);
  }

  /** Take a rig, as `drawable` gives it, and its pilot. */
  take(rig, pupilDistance) {
    this.rig = rig;
    for (const one of this.kept.splice(STAYS)) this.release(one);
    this.textures.take(rig.images);

    // what stays, what goes with the lenses, what moves with the head
    const { parts, images, lenses } = rig;
    const frames = parts.filter((part) => part.role === "lens frame");
    const panes = lenses.map((lens) => parts[lens.part]);
    this.solids = this.body(parts.filter((part) => part.kind === "opaque" && !frames.includes(part)));
    this.images = images.map((image) => this.faces(facesOf(rig, [parts[image.part]])));
    this.frames = this.body(frames);
    this.panes = panes.map((part) => this.faces(facesOf(rig, [part])));
    this.rims = this.lines(edgesOf(rig, panes));
    this.virtual = lenses.map((lens) => this.faces(facesBetween(lens.virtualImage.flat(), [0, 1, 2, 0, 2, 3])));
    this.outlines = this.lines(lenses.flatMap((lens) => pieces([...lens.virtualImage, lens.virtualImage[0]])));
    this.head = this.faces(headFaces(pupilDistance));
  }

  /** Take the surface of the head room, corners and faces as the program sends them. */
  takeRoom([corners, faces]) {
    this.refill(this.room, facesBetween(new Float32Array(corners), new Uint32Array(faces)));
  }

  /** Whether the head room is anywhere. */
  get hasRoom() {
    return this.room.count > 0;
  }

  /**
   * Draw the rig and a head, as `eyesOf` gives it, into the whole canvas. `view` is from `cameraOf`, `colours`
   * one of `COLOURS` of stage_shaders.js; `pixel` is how many of the canvas make one of the page. `room` shows the
   * head room, `ring` a circle so many mm about the head's middle. With `smooth`, edges are, which takes three times
   * as long.
   */
  draw(view, eyes, { smooth, ...options }) {
    if (smooth) this.smooth.begin();
    this.drawAll(view, eyes, options);
    if (smooth) this.smooth.end();
  }

  drawAll(view, eyes, { lenses, room, ring, colours, pixel }) {
    const { gl } = this;
    gl.viewport(0, 0, gl.drawingBufferWidth, gl.drawingBufferHeight);
    Object.assign(this, { view, eyes, colours, pixel, clip: clipOf(view) });
    gl.clear(gl.DEPTH_BUFFER_BIT);
    this.drawGround();
    gl.enable(gl.DEPTH_TEST);

    this.drawBody(this.solids);
    this.drawImages();
    if (lenses) {
      this.drawBody(this.frames);
      this.drawLines(this.rims, WIDTH.rim, colours.lens);
      this.drawLines(this.outlines, WIDTH.rim, colours.image);
    }
    if (!room) this.drawHead(1);
    for (const eye of ["left", "right"]) {
      this.drawMoving(sights(this.rig, eyes[eye], lenses).flatMap(pieces), WIDTH.sight, colours[eye]);
    }
    if (ring) this.drawMoving(pieces(circle(headMiddle(eyes), ring, view)), WIDTH.ring, colours.ring);
    this.drawClear(lenses, room);
    gl.disable(gl.DEPTH_TEST);
  }

  /** Draw what other things show through, the farthest first. */
  drawClear(lenses, room) {
    const { gl, rig, colours } = this;
    const clear = [];
    if (room) clear.push([this.eyes.mid, () => this.drawRoom()]);
    rig.lenses.forEach(({ middle, virtualImage }, number) => {
      if (!lenses) return;
      const across = plus(virtualImage[0], virtualImage[2]).map((value) => value / 2);
      const glow = (faces, tint, alpha) => () => this.drawFaces(faces, { tint, alpha, shade: GLOWING });
      clear.push([middle, glow(this.panes[number], colours.lens, OPACITY.lens)]);
      clear.push([across, glow(this.virtual[number], colours.image, OPACITY.image)]);
    });

    gl.enable(gl.BLEND);
    gl.blendFuncSeparate(gl.SRC_ALPHA, gl.ONE_MINUS_SRC_ALPHA, gl.ONE, gl.ONE_MINUS_SRC_ALPHA);
    gl.depthMask(false);
    const far = ([place]) => dot(this.view.forward, place);
    for (const [, draw] of clear.sort((one, other) => far(other) - far(one))) draw();
    gl.depthMask(true);
    gl.disable(gl.BLEND);
  }

  /** Draw the head room, of which the near side shows, and the head in it. */
  drawRoom() {
    const { gl } = this;
    gl.enable(gl.CULL_FACE);
    this.drawFaces(this.room, { tint: this.colours.room, alpha: OPACITY.room });
    gl.disable(gl.CULL_FACE);

    // first how near the head is, so that its far side does not show through its near side
    gl.colorMask(false, false, false, false);
    gl.depthMask(true);
    this.drawHead(1);
    gl.colorMask(true, true, true, true);
    gl.depthMask(false);
    gl.depthFunc(gl.LEQUAL);
    this.drawHead(OPACITY.headInRoom);
    gl.depthFunc(gl.LESS);
  }

  drawHead(alpha) {
    this.drawFaces(this.head, { place: this.eyes, alpha });
  }

  drawBody({ faces, edges }) {
    this.drawFaces(faces, {});
    this.drawLines(edges, WIDTH.edge, this.colours.edge);
  }

  drawGround() {
    const { gl } = this;
    const { places } = this.use(this.ground);
    gl.uniform3fv(places.u_floor, this.colours.floor);
    gl.uniform3fv(places.u_sky, this.colours.sky);
    gl.drawArrays(gl.TRIANGLES, 0, 3);
  }

  /** Draw faces; `place` is where the axes are in which they are told, as `eyesOf` gives them. */
  drawFaces({ array, count }, { place = null, tint = null, alpha = 1, shade = MATT }) {
    const { gl } = this;
    const { places } = this.use(this.lit);
    const view = place ? seenFrom(this.view, place) : this.view;
    const light = [0, 1, 2].map((k) => LIGHT[0] * view.right[k] + LIGHT[1] * view.up[k] - LIGHT[2] * view.forward[k]);
    gl.uniformMatrix4fv(places.u_clip, true, clipOf(view));
    gl.uniform3fv(places.u_eye, view.eye);
    gl.uniform3fv(places.u_light, light.map((value) => value / Math.hypot(...light)));
    gl.uniform4fv(places.u_tint, tint ? [...tint, 1] : [0, 0, 0, 0]);
    gl.uniform2fv(places.u_shade, shade);
    gl.uniform1f(places.u_alpha, alpha);
    gl.bindVertexArray(array);
    gl.drawElements(gl.TRIANGLES, count, gl.UNSIGNED_INT, 0);
  }

  drawImages() {
    const { gl } = this;
    const { places } = this.use(this.shown);
    gl.uniformMatrix4fv(places.u_clip, true, this.clip);
    gl.uniform1i(places.u_picture, 0);
    gl.activeTexture(gl.TEXTURE0);
    this.rig.images.forEach((image, number) => {
      tellSides(gl, places, image);
      gl.bindTexture(gl.TEXTURE_2D, this.textures.of(image.picture));
      gl.bindVertexArray(this.images[number].array);
      gl.drawElements(gl.TRIANGLES, this.images[number].count, gl.UNSIGNED_INT, 0);
    });
  }

  drawMoving(segments, width, colour) {
    this.refill(this.moving, segmentData(segments));
    this.drawLines(this.moving, width, colour);
  }

  drawLines({ array, count }, width, colour) {
    const { gl, view } = this;
    const { places } = this.use(this.line);
    gl.uniformMatrix4fv(places.u_clip, true, this.clip);
    gl.uniform2f(places.u_pixel, 2 / gl.drawingBufferWidth, 2 / gl.drawingBufferHeight);
    gl.uniform1f(places.u_width, width * this.pixel);
    gl.uniform1f(places.u_nearest, view.near);
    gl.uniform1f(places.u_nearer, NEARER * 2 * view.near);
    gl.uniform3fv(places.u_colour, colour);
    gl.bindVertexArray(array);
    gl.drawArrays(gl.TRIANGLES, 0, count);
  }

  use(one) {
    this.gl.useProgram(one.program);
    return one;
  }

  // ---- graphics memory ----

  /** Keep parts of the rig, with their edges. */
  body(parts) {
    return { faces: this.faces(facesOf(this.rig, parts)), edges: this.lines(edgesOf(this.rig, parts)) };
  }

  faces(corners) {
    const { gl } = this;
    const floats = (place) => [place, 3, gl.FLOAT, false, BYTES, 12 * place];
    return this.keep(corners, [floats(0), floats(1), [2, 3, gl.UNSIGNED_BYTE, true, BYTES, 24]]);
  }

  lines(segments) {
    const { gl } = this;
    const ends = [0, 1].map((place) => [place, 3, gl.FLOAT, false, 24, 12 * place]);
    return this.keep(segmentData(segments), ends);
  }

  keep(data, attributes) {
    const { gl } = this;
    const one = { array: gl.createVertexArray(), buffer: gl.createBuffer(), indices: gl.createBuffer() };
    gl.bindVertexArray(one.array);
    gl.bindBuffer(gl.ARRAY_BUFFER, one.buffer);
    for (const attribute of attributes) {
      gl.enableVertexAttribArray(attribute[0]);
      gl.vertexAttribPointer(...attribute);
    }
    this.kept.push(one);
    return this.refill(one, data);
  }

  release({ array, buffer, indices }) {
    this.gl.deleteVertexArray(array);
    for (const one of [buffer, indices]) this.gl.deleteBuffer(one);
  }

  refill(one, { buffer, faces = null, count }) {
    const { gl } = this;
    gl.bindVertexArray(one.array);
    gl.bindBuffer(gl.ARRAY_BUFFER, one.buffer);
    gl.bufferData(gl.ARRAY_BUFFER, buffer, gl.STATIC_DRAW);
    if (faces) {
      gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, one.indices);
      gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, faces, gl.STATIC_DRAW);
    }
    return Object.assign(one, { count });
  }
}

/** Return each segment, six numbers, once for each corner of the rectangle that it becomes. */
function segmentData(segments) {
  const buffer = new Float32Array(6 * segments.length);
  for (let at = 0; at < buffer.length; at++) buffer[at] = segments[6 * Math.floor(at / 36) + (at % 6)];
  return { buffer, count: segments.length };
}

/** Return the straight pieces of a way through points, six numbers each. */
const pieces = (way) => way.slice(1).flatMap((point, number) => [...way[number], ...point]);

/** Return a circle that faces a camera. */
function circle(middle, radius, { right, up }) {
  return Array.from({ length: RING_STEPS + 1 }, (_, step) => {
    const angle = (2 * Math.PI * step) / RING_STEPS;
    return plus(plus(middle, right, radius * Math.cos(angle)), up, radius * Math.sin(angle));
  });
}
