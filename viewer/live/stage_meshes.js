// Faces and edges as `stage_drawing.js` draws them: of parts, of a head, between any points.

import { normalsOf } from "./drawing.js";

export const PLACES = ["a_place", "a_normal", "a_colour"]; // of a corner
export const BYTES = 28; // of a corner: place and normal (3 floats each), colour (4 bytes)
export const HEAD_MIDDLE = [0, -84, -8]; // mm from between the eyes; the head is that of plotting.py

const CRISP = Math.cos((25 * Math.PI) / 180); // between faces; flatter edges are lit smoothly and get no line
const ALIKE = 0.9999; // cosine between normals that need not be told apart
const HEAD = [76, 96, 115]; // half the head's breadth, length and height, mm
const EYEBALL = 12; // mm, radius
const NOSE = { tip: [0, 26.5, -42.1], back: [0, -6.5, -33.9], radius: 13 };
const [SKIN, WHITE, PUPIL] = [[222, 184, 150], [250, 250, 250], [30, 34, 40]];
const STEPS = { head: [28, 16], eye: [14, 8], nose: [14, 1] }; // around, and up

/** Corners, and which three each face has; with room for so many. */
class Faces {
  constructor(most) {
    this.floats = new Float32Array((most * BYTES) / 4);
    this.bytes = new Uint8Array(this.floats.buffer);
    this.faces = new Uint32Array(most);
    Object.assign(this, { corners: 0, count: 0 });
  }

  get buffer() {
    return this.bytes.subarray(0, this.corners * BYTES);
  }

  /** Add a corner; return its number. */
  corner(points, at, x, y, z, colour) {
    const first = (this.corners * BYTES) / 4;
    for (let k = 0; k < 3; k++) {
      this.floats[first + k] = points[at + k];
      this.bytes[4 * (first + 6) + k] = colour[k];
    }
    this.floats[first + 3] = x;
    this.floats[first + 4] = y;
    this.floats[first + 5] = z;
    return this.corners++;
  }

  /** Add a corner to the next face. */
  use(corner) {
    this.faces[this.count++] = corner;
  }

  /** Tell whether a corner's normal is nearly that. */
  isLike(corner, x, y, z) {
    const at = (corner * BYTES) / 4 + 3;
    return this.floats[at] * x + this.floats[at + 1] * y + this.floats[at + 2] * z > ALIKE;
  }
}

/** Return the faces of parts of a rig. */
export function facesOf(rig, parts) {
  const found = new Faces(3 * parts.reduce((sum, part) => sum + part.count, 0));
  for (const part of parts) addFaces(found, rig.corners, ownFaces(rig, part), part.colour.map(srgb));
  return found;
}

/** Return faces between points, three numbers each, without a colour. */
export function facesBetween(points, faces) {
  const found = new Faces(faces.length);
  addFaces(found, points, faces, [0, 0, 0]);
  return found;
}

/** Return the edges of parts that are not nearly flat: segments, six numbers each. */
export function edgesOf(rig, parts) {
  const found = [];
  for (const part of parts) addEdges(found, rig.corners, ownFaces(rig, part));
  return found;
}

/** Return a head in its own frame: from between the eyes, x right, y forward, z up. */
export function headFaces(pupilDistance) {
  const balls = [[HEAD_MIDDLE, HEAD, SKIN, STEPS.head]];
  for (const x of [-pupilDistance / 2, pupilDistance / 2]) {
    balls.push([[x, 2 - EYEBALL, 0], Array(3).fill(EYEBALL), WHITE, STEPS.eye]);
    balls.push([[x, 3 - EYEBALL / 2, 0], Array(3).fill(EYEBALL / 2), PUPIL, STEPS.eye]);
  }
  const steps = [STEPS.nose, ...balls.map((ball) => ball[3])];
  const found = new Faces(6 * steps.reduce((sum, [around, up]) => sum + around * up, 0));
  for (const ball of balls) addBall(found, ...ball);
  addNose(found);
  return found;
}

function addBall(found, middle, halves, colour, steps) {
  addGrid(found, steps, colour, (around, up) => {
    const aside = Math.sin(up * Math.PI);
    const way = [aside * Math.cos(around), aside * Math.sin(around), -Math.cos(up * Math.PI)];
    return [way.map((value, k) => middle[k] + halves[k] * value), way.map((value, k) => value / halves[k])];
  });
}

function addNose(found) {
  const { tip, back, radius } = NOSE;
  const along = tip.map((value, k) => value - back[k]);
  const length = Math.hypot(...along);
  const up = [0, -along[2] / length, along[1] / length];
  addGrid(found, STEPS.nose, SKIN, (around, share) => {
    const [c, s] = [Math.cos(around), Math.sin(around)];
    const out = [c, s * up[1], s * up[2]];
    const place = out.map((value, k) => back[k] + share * along[k] + (1 - share) * radius * value);
    return [place, out.map((value, k) => value + (radius * along[k]) / length ** 2)];
  });
}

/** Add a round surface of places and normals, so many steps around (an angle) and up (a share). */
function addGrid(found, [across, steps], colour, pointAt) {
  const corner = (at, up) => {
    const [place, normal] = pointAt((2 * Math.PI * at) / across, up / steps);
    const length = Math.hypot(...normal);
    return found.corner(place, 0, ...normal.map((value) => value / length), colour);
  };
  let below = Array.from({ length: across + 1 }, (_, at) => corner(at, 0));
  for (let up = 1; up <= steps; up++) {
    const above = below.map((_, at) => corner(at, up));
    for (let at = 0; at < across; at++) {
      const [a, b, c, d] = [below[at], below[at + 1], above[at + 1], above[at]];
      for (const one of [a, b, c, a, c, d]) found.use(one);
    }
    below = above;
  }
}

/** Add faces; a corner's normal is the mean of those faces around it that are nearly as its own. */
function addFaces(found, points, faces, colour) {
  const normals = normalsOf(points, faces);
  const uses = new Lists(faces, 0);
  faces.forEach((corner, at) => uses.add(corner, at));
  const made = new Lists(faces, found.corners);
  faces.forEach((corner, at) => {
    const own = at - (at % 3);
    let [x, y, z] = [0, 0, 0];
    for (let use = uses.first(corner); use >= 0; use = uses.after(use)) {
      const face = use - (use % 3);
      if (cosine(normals, own, face) < CRISP) continue;
      x += normals[face];
      y += normals[face + 1];
      z += normals[face + 2];
    }
    const length = Math.hypot(x, y, z) || 1;
    [x, y, z] = [x / length, y / length, z / length];

    let number = made.first(corner);
    while (number >= 0 && !found.isLike(number, x, y, z)) number = made.after(number);
    if (number < 0) made.add(corner, (number = found.corner(points, 3 * corner, x, y, z, colour)));
    found.use(number);
  });
}

/** For each corner of some faces a list of numbers, from a least one on; each number is in one list only. */
class Lists {
  constructor(faces, least) {
    this.least = least;
    this.low = faces.reduce((low, corner) => Math.min(low, corner), Infinity);
    const high = faces.reduce((most, corner) => Math.max(most, corner), -1);
    this.firsts = new Int32Array(Math.max(0, high - this.low + 1)).fill(-1);
    this.next = new Int32Array(faces.length);
  }

  first(corner) {
    return this.firsts[corner - this.low];
  }

  after(number) {
    return this.next[number - this.least];
  }

  add(corner, number) {
    this.next[number - this.least] = this.first(corner);
    this.firsts[corner - this.low] = number;
  }
}

function addEdges(found, points, faces) {
  const normals = normalsOf(points, faces);
  const open = new Map(); // edges that have one face so far, by their corners
  const keep = (one, other) => {
    for (const corner of [one, other]) for (let k = 0; k < 3; k++) found.push(points[3 * corner + k]);
  };
  for (let at = 0; at < faces.length; at++) {
    const own = at - (at % 3);
    const [one, other] = [faces[at], faces[at === own + 2 ? own : at + 1]];
    const key = Math.min(one, other) * points.length + Math.max(one, other);
    if (!open.has(key)) {
      open.set(key, own);
      continue;
    }
    if (cosine(normals, own, open.get(key)) < CRISP) keep(one, other);
    open.delete(key);
  }
  for (const key of open.keys()) keep(Math.floor(key / points.length), key % points.length);
}

const ownFaces = (rig, { first, count }) => rig.faces.subarray(3 * first, 3 * (first + count));

const cosine = (normals, one, other) =>
  normals[one] * normals[other] + normals[one + 1] * normals[other + 1] + normals[one + 2] * normals[other + 2];

/** Return light as an sRGB code; IEC 61966-2-1. */
const srgb = (light) => Math.round(255 * (light <= 0.0031308 ? 12.92 * light : 1.055 * light ** (1 / 2.4) - 0.055));
