// Draws what an eye sees of a rig, with WebGL2: parts, what screens show, and all that behind lenses.
//
// Behind an ideal lens every ray from the eye goes on as if it came from one point, the eye's conjugate
// point. So what is seen through a lens is a flat picture of the rig too, by one matrix: each point behind
// the lens maps to the point of the lens plane where the eye sees it. It is drawn where the lens is the
// nearest thing, marked in the stencil buffer; what is seen through two lenses likewise, where the second is
// the nearest thing behind the first. A third lens in a row is left out. Lengths are mm, in the rig's axes: x right, y forward, z up.

import { PictureTextures } from "./picture_textures.js";

const FIRST_BITS = 5; // of the stencil: which lens a ray meets first; the other three: which it meets next
const FIRST_MASK = (1 << FIRST_BITS) - 1;
const MOST_FIRST = FIRST_MASK;
const MOST_NEXT = 7;
// Shares of the depth buffer: what is behind two lenses, behind one, and what is seen straight. So nothing
// behind a lens is ever hidden by the lens itself, or by what lies behind it for a straight ray.
const DEPTHS = { next: [0, 0.1], first: [0.1, 0.3], straight: [0.3, 1] };
const MOST_WAYS = 24; // on which another eye may see one image, and flat pictures times ways
const DEEPEST = 20000; // mm behind an eye or a lens that depths are told up to
const NEAREST = 10; // mm in front of an eye
const BEHIND = 0.01; // mm behind a lens from which on a ray meets things again
// Rays from a far eye cross behind a lens. Where the rig reaches so far, as a share of the way to that place,
// each fragment tells its own depth, which is slower.
const TO_CROSSING = 0.95;

const ROUNDING = 1.0001; // of lengths in single precision

export const ROOM = [0.243, 0.259, 0.275, 1]; // sRGB of an empty room
const HATCHING = [0.369, 0.384, 0.408]; // of lines where nothing is met
const LINES = 100; // about so many of them to a picture's width
const LEAST_SPACING = 12; // pixels from one to the next
const NOTHING = [0, 0, 0, 0]; // part id, and where hatching is to be

const ON_IMAGE = "v_way.xy = vec2(0.5 + dot(u_right, vec4(a_corner, 1.0)), 0.5 - dot(u_up, vec4(a_corner, 1.0)));";

// Of each kind of picture what a corner hands on to the fragments, and what these make of it. All that is the
// same all over a face is handed on flat: software draws a picture in half the time so.
const KINDS = {
  ids: {
    corner: "v_flat = vec3(float(int(a_part + 1.5) & 255), float(int(a_part + 1.5) >> 8), u_mark) / 255.0;",
    fragment: "colour = vec4(v_flat, 1.0);",
  },
  // a matt part under an even light from above and behind the pilot
  solid: {
    corner: `vec3 matt = texelFetch(u_colours, ivec2(int(a_part + 0.5), 0), 0).rgb;
  v_way = u_eye.xyz - u_eye.w * a_corner;
  float across = dot(a_normal, v_way); // from the plane of the face to where its rays come from
  v_flat = matt * (0.16 - 0.12 * sign(across) * a_normal.z);
  v_slant = matt * 0.24 * abs(across);`,
    fragment: "colour = vec4(srgb(v_flat + v_slant * inversesqrt(dot(v_way, v_way))), 1.0);",
  },
  image: {
    corner: ON_IMAGE,
    fragment: "colour = vec4(srgb(u_gain * texture(u_picture, v_way.xy).rgb), 1.0);",
  },
  // an image too, tinted by whether another eye sees the same place; see `Watch`
  tinted: {
    corner: `${ON_IMAGE}
  v_place = a_corner;`,
    fragment: `bool isSeen = false;
  for (int number = 0; number < u_count; number++) {
    vec4 place = vec4(v_place, 1.0) * u_ways[number];
    if (place.w <= 0.0 || any(greaterThan(abs(place.xy), vec2(place.w)))) continue;
    vec4 area = u_areas[number];
    vec4 met = 255.0 * texelFetch(u_watch, ivec2(area.xy + (0.5 + 0.5 * place.xy / place.w) * area.zw), 0);
    isSeen = isSeen || (abs(met.r + 256.0 * met.g - u_part) < 0.5 && abs(met.b - u_marks[number]) < 0.5);
  }
  vec3 picture = srgb(u_gain * texture(u_picture, v_way.xy).rgb);
  colour = vec4(0.5 * picture + 0.5 * (isSeen ? u_both : u_own), 1.0);`,
  },
};

const VERTEX = `#version 300 es
uniform mat4 u_clip;
uniform vec4 u_eye; // where the rays come from, or the point that they seem to come from or go to
uniform highp sampler2D u_colours;
uniform vec4 u_right, u_up; // across an image from its middle, and up, as shares of its size
uniform vec4 u_depth; // share of the greatest depth, by place
uniform float u_mark; // in the stencil: tells through which lenses the rays have come
in vec3 a_corner;
in vec3 a_normal;
in float a_part;
out vec3 v_way, v_place;
flat out vec3 v_flat, v_slant;
#ifdef OWN_DEPTH
out float v_depth;
#endif
void main() {
  CORNER
#ifdef OWN_DEPTH
  v_depth = dot(u_depth, vec4(a_corner, 1.0));
#endif
  gl_Position = u_clip * vec4(a_corner, 1.0);
}`;

const FRAGMENT = `#version 300 es
precision highp float;
uniform float u_gain;
uniform sampler2D u_picture;
uniform float u_nearest; // share of the greatest depth, below which nothing is met
uniform vec2 u_range; // of the depth buffer
uniform sampler2D u_watch; // ids that the other eye sees
uniform int u_count; // of ways on which it may see an image
uniform mat4 u_ways[${MOST_WAYS}]; // from a place to clip coordinates
uniform vec4 u_areas[${MOST_WAYS}]; // where that picture is: lower left corner and size, pixels
uniform float u_marks[${MOST_WAYS}], u_part;
uniform vec3 u_both, u_own; // colours of what both eyes see, and one
in vec3 v_way, v_place;
flat in vec3 v_flat, v_slant;
out vec4 colour;
#ifdef OWN_DEPTH
in float v_depth;
#endif

// IEC 61966-2-1 within a code of 255, but for the darkest, by roots, which software draws faster than powers
vec3 srgb(vec3 light) {
  vec3 root = sqrt(light);
  vec3 fourth = sqrt(root);
  vec3 eighth = sqrt(fourth);
  return 0.662002687 * root + 0.684122060 * fourth - 0.323583601 * eighth - 0.0225411470 * light;
}

void main() {
#ifdef OWN_DEPTH
  if (v_depth <= u_nearest) discard;
  gl_FragDepth = mix(u_range.x, u_range.y, min(v_depth, 1.0));
#endif
  FRAGMENT
}`;

/** GLSL of the colour where nothing is met, hatched as the program itself draws it. */
export const HATCHED = `
vec4 hatched(ivec2 pixel, ivec4 area) { // left, bottom, width, height
  int fromTop = area.y + area.w - 1 - pixel.y;
  bool isOnLine = (pixel.x - area.x + fromTop) % max(${LEAST_SPACING}, area.z / ${LINES}) == 0;
  return vec4(isOnLine ? vec3(${HATCHING}) : vec3(${ROOM.slice(0, 3)}), 1.0);
}`;

const COVER = `#version 300 es
void main() {
  gl_Position = vec4(4.0 * float(gl_VertexID & 1) - 1.0, 4.0 * float(gl_VertexID >> 1) - 1.0, 0.0, 1.0);
}`;

const COVER_FRAGMENT = `#version 300 es
precision highp float;
uniform ivec4 u_area;
out vec4 colour;
${HATCHED}
void main() {
  colour = hatched(ivec2(gl_FragCoord.xy), u_area);
}`;

/**
 * A rig in a WebGL2 context.
 *
 * `rig` has `parts`, each {kind: "opaque" | "image" | "lens", role, colour, first, count, outward, low, high}: its
 * faces (first and count of them; whether all face outwards) and the corners of a box around it; `corners` (Float32Array, 3 each), `partOf`
 * (Uint16Array, of each corner), `faces` (Uint32Array, 3 corners each); `images`, each {part, middle, right,
 * up, size, gain, picture}, and `lenses`, each {part, middle, right, away, up, size, focalLength}.
 */
export class Drawing {
  constructor(gl, rig) {
    this.gl = gl;
    this.programs = new Map(); // by kind of picture, and whether fragments tell their own depth
    this.cover = this.program(COVER, COVER_FRAGMENT);
    // linear light is averaged, not codes
    this.textures = new PictureTextures(gl, gl.SRGB8_ALPHA8, gl.NEAREST);
    this.takeRig(rig);
  }

  /** Take a rig instead of the one before; what both show stays in the graphics memory. */
  takeRig(rig) {
    const { gl } = this;
    if (this.rig) this.freeShapes();
    this.rig = rig;
    this.textures.take(rig.images);
    this.pictures = rig.images.map(({ picture }) => this.textures.of(picture));
    this.colours = colourTable(gl, rig.parts);
    this.faces = facesOf(rig);
    this.shapes = shapes(gl, this.faces);
    this.boxes = rig.parts.map(boxOf);
    const ends = (end, side) => [0, 1, 2].map((k) => end(...rig.parts.map((part) => part[side][k])));
    this.box = boxOf({ low: ends(Math.min, "low"), high: ends(Math.max, "high") });
  }

  /**
   * Draw what an eye sees into the framebuffer that is bound, which has depth and stencil.
   *
   * `view` has the eye, unit vectors right, forward and up, and the tangents `across` and `upright` of half
   * the field; with `shift`, tangents to the right and up, forward is not the middle of the picture. Where nothing
   * is met, the picture is hatched, or of the colour `ground`; without `hatched`, of no colour, and transparent.
   * With `ids`, colours are part ids plus one, the low byte in red, the high byte in green, and in blue what tells
   * through which lenses they are seen; black is nothing. With a `watch`, images are tinted by who sees them. A
   * `draft` is quicker; software misses a pixel between two faces in it now and then, and shows what is behind. Parts
   * of the roles in `without` are left out; without `lenses`, these and their frames. The picture fills an `area`
   * (left, bottom, width, height; pixels); only what is in the area `part` is drawn.
   */
  draw(view, options) {
    const { gl } = this;
    const { area, part = area } = options;
    const { ids = false, hatched = true, watch = null, draft = false, lenses = true, without = [] } = options;
    const ground = (!ids && options.ground) || NOTHING;
    const left = new Set(lenses ? without : [...without, "lens", "lens frame"]);
    const shown = this.rig.parts.map((one) => !left.has(one.role));
    Object.assign(this, { view, ids, watch, draft, area, part, shown });

    // find all there is to draw, so that its faces go to the graphics memory at once
    this.steps = [];
    this.faces.clear();
    for (const first of this.met([straightOn(view)], part, 0, 0, MOST_FIRST)) {
      for (const next of this.through(first, MOST_NEXT)) this.through(next, 0);
    }

    gl.viewport(...area);
    gl.scissor(...part);
    gl.clearColor(...ground);
    for (const able of [gl.DEPTH_TEST, gl.STENCIL_TEST, gl.SCISSOR_TEST]) gl.enable(able);
    gl.stencilOp(gl.KEEP, gl.KEEP, gl.REPLACE);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT | gl.STENCIL_BUFFER_BIT);
    gl.bindVertexArray(this.shapes.array);
    gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, this.faces.chosen(), gl.STREAM_DRAW);
    gl.activeTexture(gl.TEXTURE1);
    gl.bindTexture(gl.TEXTURE_2D, this.colours);
    gl.activeTexture(gl.TEXTURE2);
    gl.bindTexture(gl.TEXTURE_2D, watch?.texture ?? null);
    gl.activeTexture(gl.TEXTURE0);
    for (const step of this.steps) this.take(step);
    gl.colorMask(true, true, true, true);
    gl.depthRange(0, 1);
    gl.scissor(...part);
    if (hatched && !ids && !ground[3]) this.hatch(area);
    gl.disable(gl.SCISSOR_TEST);
  }

  /** Hatch what is still without any colour. */
  hatch(area) {
    const { gl } = this;
    for (const able of [gl.DEPTH_TEST, gl.STENCIL_TEST]) gl.disable(able);
    gl.enable(gl.BLEND);
    gl.blendFunc(gl.ONE_MINUS_DST_ALPHA, gl.DST_ALPHA);
    gl.useProgram(this.cover.program);
    gl.uniform4i(this.cover.places.u_area, ...area);
    gl.drawArrays(gl.TRIANGLES, 0, 3);
    gl.disable(gl.BLEND);
  }

  /** Find what is met behind a marked lens; return at most so many lenses that are. */
  through({ lens, mark, before }, most) {
    const area = common(apertureArea(lens, before, this.area), this.part);
    if (!area[2] || !area[3]) return [];
    return this.met(waysThrough(this.view, lens, before, this.box), area, mark, most ? FIRST_MASK : 255, most);
  }

  /**
   * Find what is met on ways, in an area, where the stencil, masked, is so marked. Return at most so many lenses
   * that are met; each gets a mark of its own, where it is the nearest thing.
   */
  met(ways, area, mark, mask, most) {
    const found = [];
    for (const way of ways) {
      for (const lens of this.rig.lenses) {
        if (lens === way.lens || found.length === most || !this.isSeen(way, lens.part)) continue;
        const own = mark ? mark | ((found.length + 1) << FIRST_BITS) : found.length + 1;
        this.add({ way, area, mark: own, mask, kind: "ids", isMark: true }, [lens.part]);
        found.push({ lens, mark: own, before: way });
      }
    }
    // what is nearer than a lens takes its mark away
    for (const way of ways) this.seen({ way, area, mark, mask });
    return found;
  }

  /** Find all that is opaque and seen on a way: images, then the nearest first, so that little is drawn twice. */
  seen(step) {
    const { parts, images } = this.rig;
    images.forEach((image, number) => {
      if (!this.isSeen(step.way, image.part)) return;
      const kind = this.ids ? "ids" : this.watch ? "tinted" : "image";
      this.add({ ...step, kind, image, picture: this.ids ? null : this.pictures[number] }, [image.part]);
    });
    const depths = new Map();
    parts.forEach(({ kind }, number) => {
      if (kind !== "opaque" || !this.isSeen(step.way, number)) return;
      depths.set(number, least(step.way.depth, this.boxes[number]));
    });
    const solid = [...depths.keys()].sort((one, other) => depths.get(one) - depths.get(other));
    this.add({ ...step, kind: this.ids ? "ids" : "solid" }, solid);
  }

  /** Add a step that draws parts. */
  add(step, parts) {
    const first = this.faces.count;
    for (const number of parts) this.faces.choose(this.rig.parts[number], this.boxes[number], step.way, this.draft);
    const count = this.faces.count - first;
    if (count) this.steps.push({ ...step, first, count });
  }

  /** Draw the faces of a step. */
  take({ way, area, mark, mask, kind, isMark = false, image = null, picture = null, first, count }) {
    const { gl } = this;
    gl.colorMask(!isMark, !isMark, !isMark, !isMark);
    gl.scissor(...area);
    gl.stencilFunc(gl.EQUAL, mark, mask);
    gl.depthRange(...way.range);
    const { places } = this.use(kind, way);
    gl.uniformMatrix4fv(places.u_clip, true, way.clip);
    gl.uniform4fv(places.u_eye, way.from);
    gl.uniform1f(places.u_mark, mark);
    if (way.tellsDepth) {
      gl.uniform4fv(places.u_depth, way.depth);
      gl.uniform1f(places.u_nearest, way.nearest);
      gl.uniform2fv(places.u_range, way.range);
    }
    if (picture) this.show(places, image, picture);
    if (kind === "tinted") this.tint(places, image);
    gl.drawElements(gl.TRIANGLES, count, gl.UNSIGNED_INT, 4 * first);
  }

  /** Make a program show a picture on its image. */
  show(places, image, picture) {
    const { gl } = this;
    tellSides(gl, places, image);
    gl.uniform1f(places.u_gain, image.gain);
    gl.bindTexture(gl.TEXTURE_2D, picture);
  }

  /** Make a program tint an image by who sees it. */
  tint(places, { part }) {
    const { gl, watch } = this;
    const ways = (watch.ways.get(part) ?? []).slice(0, MOST_WAYS);
    gl.uniform1i(places.u_count, ways.length);
    gl.uniform1f(places.u_part, part + 1);
    gl.uniform3fv(places.u_both, watch.both);
    gl.uniform3fv(places.u_own, watch.own);
    if (!ways.length) return;
    gl.uniformMatrix4fv(places.u_ways, false, ways.flatMap(({ clip }) => clip));
    gl.uniform4fv(places.u_areas, ways.flatMap(({ area }) => area));
    gl.uniform1fv(places.u_marks, ways.map(({ mark }) => mark));
  }

  use(kind, { tellsDepth = false }) {
    const { gl } = this;
    const name = `${kind} ${tellsDepth}`;
    if (!this.programs.has(name)) {
      const made = pictureProgram(gl, kind, tellsDepth);
      gl.useProgram(made.program);
      gl.uniform1i(made.places.u_picture, 0);
      gl.uniform1i(made.places.u_colours, 1);
      gl.uniform1i(made.places.u_watch, 2);
      this.programs.set(name, made);
    }
    gl.useProgram(this.programs.get(name).program);
    return this.programs.get(name);
  }

  /** Let the graphics memory go. */
  free() {
    const { gl } = this;
    this.textures.free();
    for (const one of [this.cover, ...this.programs.values()]) gl.deleteProgram(one.program);
    this.freeShapes();
  }

  freeShapes() {
    const { gl } = this;
    gl.deleteTexture(this.colours);
    gl.deleteVertexArray(this.shapes.array);
    for (const buffer of this.shapes.buffers) gl.deleteBuffer(buffer);
  }

  /** Return a program without attributes. */
  program(vertex, fragment) {
    return program(this.gl, vertex, fragment, []);
  }

  isSeen(way, number) {
    return this.shown[number] && isSeen(way, this.boxes[number]);
  }
}

// ---- ways of light: matrices are lists of 16, row by row ----

const IDENTITY = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1];

export function dot(a, b) {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

function dot4(a, b) {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2] + a[3] * b[3];
}

function product(a, b) {
  const column = (place) => [b[place], b[4 + place], b[8 + place], b[12 + place]];
  return [0, 4, 8, 12].flatMap((row) => [0, 1, 2, 3].map((place) => dot4(a.slice(row, row + 4), column(place))));
}

const applied = (matrix, point) => [0, 4, 8, 12].map((row) => dot4(matrix.slice(row, row + 4), point));
const scaled = (matrix, factor) => matrix.map((value) => value * factor);

/** From a place to clip coordinates, where `seenAt` takes it to the point in whose direction it is seen. */
function clipOf(view, seenAt) {
  const towards = (axis, tangent) => [...axis.map((value) => value / tangent), -dot(axis, view.eye) / tangent];
  const [aside, above] = view.shift ?? [0, 0];
  const off = (axis, tangent) => axis.map((value, k) => value - tangent * view.forward[k]);
  const rows = [
    ...towards(off(view.right, aside), view.across),
    ...towards(off(view.up, above), view.upright),
    ...[0, 0, 0, 0],
    ...towards(view.forward, 1),
  ];
  return product(rows, seenAt);
}

/** Return clip coordinates with another row for depths. */
const withDepths = (clip, row) => [...clip.slice(0, 8), ...row, ...clip.slice(12)];

/** The way straight from the eye. */
function straightOn(view) {
  const clip = clipOf(view, IDENTITY);
  const forward = clip.slice(12);
  const depths = [forward[0], forward[1], forward[2], forward[3] - 2 * NEAREST];
  return {
    eye: [...view.eye, 1],
    from: [...view.eye, 1].map((value) => -value),
    seenAt: IDENTITY,
    clip: withDepths(clip, depths),
    edges: edgesOf(clip, [1, 1], [0, 1], 1),
    range: DEPTHS.straight,
    depth: forward.map((value) => value / DEEPEST),
    nearest: 0,
    sign: 1,
  };
}

/**
 * The ways through a lens; a way before it leads from the eye to it, straight or through another lens.
 *
 * In the lens's frame (x right, y on along the ray, z up) a ray through x of the lens plane with slope m
 * goes on with m - x / f. Rays from an eye at (ex, -e) have m = (x - ex) / e; behind the lens they cross
 * (px, py) where x (1 - k py) = px + py ex / e, with k = 1 / f - 1 / e: linear in the place, but for a factor.
 * Beyond py = 1 / k, where rays from a far eye have crossed, that factor is negative: another way.
 */
function waysThrough(view, lens, before, box) {
  const from = before.lens?.middle ?? view.eye;
  const side = dot(lens.away, lens.middle) < dot(lens.away, from) ? -1 : 1;
  const away = lens.away.map((value) => value * side);
  const into = [lens.right, away, lens.up].flatMap((axis) => [...axis, -dot(axis, lens.middle)]).concat(0, 0, 0, 1);
  const outOf = [0, 1, 2]
    .flatMap((row) => [lens.right[row], away[row], lens.up[row], lens.middle[row]])
    .concat(0, 0, 0, 1);

  // where the rays come from may be infinitely far away: its slopes, and the inverse of its distance
  const [x, y, z, w] = applied(into, before.eye);
  const slopes = { across: -x / y, up: -z / y };
  const k = 1 / lens.focalLength + w / y;
  const onLens = product([1, slopes.across, 0, 0, 0, 0, 0, 0, 0, slopes.up, 1, 0, 0, -k, 0, 1], into);
  const seenAt = product(before.seenAt, product(outOf, onLens));
  const behind = into.slice(4, 8);
  const eye = applied(outOf, [-slopes.across, 1, -slopes.up, k]);
  const way = {
    lens,
    eye,
    seenAt,
    range: before.lens ? DEPTHS.next : DEPTHS.first,
    depth: behind.map((value) => value / DEEPEST),
    nearest: BEHIND / DEEPEST,
  };

  const aperture = lens.size.map((length) => length / 2);
  const inside = (matrix, sign) => [
    ...edgesOf(matrix, [1, 1], [0, 1], 1),
    ...edgesOf(onLens, aperture, [0, 2], sign),
  ];

  // depths -1 + c py / w, where that will do: the near plane is then the lens itself
  const clip = clipOf(view, seenAt);
  const nearest = Math.min(...apertureCorners(lens).map((corner) => applied(clip, corner)[3]));
  const farthest = most(behind, box);
  if (farthest <= BEHIND) return [];
  if (before.sign > 0 && nearest > NEAREST && k * farthest < TO_CROSSING) {
    const steepest = (2 * nearest * (1 - k * farthest)) / farthest;
    const depths = clip.slice(12).map((value, at) => steepest * (behind[at] - (at === 3 ? BEHIND : 0)) - value);
    return [{ ...way, sign: 1, from: eye, clip: withDepths(clip, depths), edges: inside(clip, 1) }];
  }
  return [1, -1].map((sign) => {
    const turned = scaled(clip, sign);
    return { ...way, sign, from: scaled(eye, sign), clip: turned, edges: inside(turned, sign), tellsDepth: true };
  });
}

/** Return the part of the viewport that holds an aperture, as scissors take it. */
function apertureArea(lens, way, [left, bottom, width, height]) {
  const corners = apertureCorners(lens).map((corner) => applied(way.clip, corner));
  if (corners.some(([, , , w]) => w <= 0)) return [left, bottom, width, height];
  const ends = (row, first, length) => {
    const places = corners.map((corner) => first + ((corner[row] / corner[3] + 1) / 2) * length);
    const low = clipped(Math.floor(Math.min(...places)), first, first + length);
    return [low, clipped(Math.ceil(Math.max(...places)), first, first + length) - low];
  };
  const [[x, across], [y, up]] = [ends(0, left, width), ends(1, bottom, height)];
  return [x, y, across, up];
}

/** Return what two areas have in common. */
function common(one, other) {
  const from = [0, 1].map((axis) => Math.max(one[axis], other[axis]));
  const to = [0, 1].map((axis) => Math.min(one[axis] + one[axis + 2], other[axis] + other[axis + 2]));
  return [...from, ...from.map((start, axis) => Math.max(0, to[axis] - start))];
}

const clipped = (value, low, high) => Math.min(high, Math.max(low, value));

function apertureCorners({ middle, right, up, size }) {
  const at = (one, other) => middle.map((value, k) => value + (one * size[0] * right[k] + other * size[1] * up[k]) / 2);
  return [at(-1, -1), at(-1, 1), at(1, -1), at(1, 1)].map((corner) => [...corner, 1]);
}

const boxOf = ({ low, high }) => ({
  middle: low.map((value, k) => (value + high[k]) / 2),
  halves: low.map((value, k) => (high[k] - value) / 2),
});

/** Return the most, and the least, that a row of a matrix makes of the places in a box. */
const most = (row, box) => dot(row, box.middle) + row[3] + reach(row, box);
const least = (row, box) => dot(row, box.middle) + row[3] - reach(row, box);
const reach = (row, { halves }) =>
  Math.abs(row[0]) * halves[0] + Math.abs(row[1]) * halves[1] + Math.abs(row[2]) * halves[2];

/** Tell whether a part's box can be in the picture: not all of it beyond one edge of what is open. */
function isSeen(way, box) {
  if (most(way.depth, box) <= way.nearest) return false;
  return way.edges.every((edge) => most(edge, box) >= 0);
}

/** Return rows that are negative beyond one edge of a rectangle, or behind what sees it, after a matrix. */
function edgesOf(matrix, halves, rows, sign) {
  const ahead = scaled(matrix.slice(12), sign);
  const beside = rows.flatMap((row, number) =>
    [1, -1].map((way) => ahead.map((value, k) => halves[number] * value - way * sign * matrix[4 * row + k])),
  );
  return [ahead, ...beside];
}

// ---- faces ----

/**
 * The faces of a rig, of which those that can be seen are chosen for each picture, since software takes long to
 * throw a face away.
 *
 * Corners have normals: each face's is that of its last corner, which hands it on to all of the face. Corners
 * that would be the last of several faces are there several times.
 */
class Faces {
  constructor({ corners, partOf, normals, faces }) {
    Object.assign(this, { corners, partOf, normals, faces, count: 0 });
    this.list = new Uint32Array(faces.length);
    const count = faces.length / 3;
    this.planes = new Float32Array(4 * count); // normal, and how far along it the face is
    this.balls = new Float32Array(4 * count); // middle and radius of a ball around the box around each
    for (let face = 0; face < count; face++) this.measure(face);
  }

  measure(face) {
    const { corners, faces, planes, balls } = this;
    const a = place(corners, faces[3 * face]);
    const b = place(corners, faces[3 * face + 1]);
    const c = place(corners, faces[3 * face + 2]);
    const normal = place(this.normals, faces[3 * face + 2]);
    let square = 0; // of the farthest corner's distance from the middle
    for (let k = 0; k < 3; k++) {
      const middle = (Math.min(a[k], b[k], c[k]) + Math.max(a[k], b[k], c[k])) / 2;
      square += Math.max(a[k] - middle, b[k] - middle, c[k] - middle) ** 2;
      balls[4 * face + k] = middle;
      planes[4 * face + k] = normal[k];
    }
    balls[4 * face + 3] = Math.sqrt(square) * ROUNDING;
    planes[4 * face + 3] = dot(normal, c);
  }

  clear() {
    this.count = 0;
  }

  chosen() {
    return this.list.subarray(0, this.count);
  }

  /** Choose those faces of a part that may be seen on a way: not beyond an edge; in a draft, not from behind. */
  choose({ first, count, outward }, box, { from, edges }, draft) {
    this.grow(3 * count);
    const { planes, balls, faces, list } = this;
    const cuts = edges.filter((edge) => least(edge, box) < 0).map(normalised);
    const [x, y, z, w] = from;
    const leavesBacks = draft && outward;
    let next = this.count;
    for (let face = first; face < first + count; face++) {
      const at = 4 * face;
      if (leavesBacks && x * planes[at] + y * planes[at + 1] + z * planes[at + 2] > w * planes[at + 3]) continue;
      if (isBeyond(cuts, balls, at)) continue;
      list[next++] = faces[3 * face];
      list[next++] = faces[3 * face + 1];
      list[next++] = faces[3 * face + 2];
    }
    this.count = next;
  }

  /** Make room for so many more corners of faces. */
  grow(more) {
    if (this.count + more <= this.list.length) return;
    const longer = new Uint32Array(2 * (this.count + more));
    longer.set(this.chosen());
    this.list = longer;
  }
}

// ---- WebGL ----

export function program(gl, vertex, fragment, attributes) {
  const made = gl.createProgram();
  for (const [kind, source] of [
    [gl.VERTEX_SHADER, vertex],
    [gl.FRAGMENT_SHADER, fragment],
  ]) {
    const shader = gl.createShader(kind);
    gl.shaderSource(shader, source);
    gl.compileShader(shader);
    gl.attachShader(made, shader);
    gl.deleteShader(shader); // when the program goes
  }
  attributes.forEach((name, number) => gl.bindAttribLocation(made, number, name));
  gl.linkProgram(made);
  if (!gl.getProgramParameter(made, gl.LINK_STATUS) && !gl.isContextLost()) {
    const logs = gl.getAttachedShaders(made).map((shader) => gl.getShaderInfoLog(shader));
    throw new Error(`${gl.getProgramInfoLog(made)} ${logs.join(" ")}`);
  }
  const count = gl.getProgramParameter(made, gl.ACTIVE_UNIFORMS) ?? 0;
  const names = Array.from({ length: count }, (_, number) => gl.getActiveUniform(made, number).name);
  const places = names.map((name) => [name.replace("[0]", ""), gl.getUniformLocation(made, name)]);
  return { program: made, places: Object.fromEntries(places) };
}

/** Tell a program how far a place is across an image from its middle, and up, as shares of its size. */
export function tellSides(gl, places, { middle, right, up, size }) {
  const along = (axis, side) => [...axis.map((value) => value / side), -dot(axis, middle) / side];
  gl.uniform4fv(places.u_right, along(right, size[0]));
  gl.uniform4fv(places.u_up, along(up, size[1]));
}

/** Return the program of a kind of picture. */
function pictureProgram(gl, kind, tellsDepth) {
  const rule = tellsDepth ? "#define OWN_DEPTH\n" : "";
  const made = (source, [what, code]) =>
    source.replace("#version 300 es\n", `#version 300 es\n${rule}`).replace(what, code);
  const { corner, fragment } = KINDS[kind];
  const sources = [made(VERTEX, ["CORNER", corner]), made(FRAGMENT, ["FRAGMENT", fragment])];
  return program(gl, ...sources, ["a_corner", "a_normal", "a_part"]);
}

/** Return a row of a matrix as [a, b, c, d] with a b c of unit length. */
function normalised(row) {
  const length = Math.hypot(row[0], row[1], row[2]);
  return row.map((value) => value / length);
}

/** Tell whether a ball lies beyond one of some edges; this runs for every face. */
function isBeyond(cuts, balls, at) {
  for (let number = 0; number < cuts.length; number++) {
    const cut = cuts[number];
    const far = cut[0] * balls[at] + cut[1] * balls[at + 1] + cut[2] * balls[at + 2] + cut[3];
    if (far < -balls[at + 3]) return true;
  }
  return false;
}

/** Return the faces of a rig, each with a last corner of its own. */
function facesOf({ corners, partOf, faces }) {
  const count = partOf.length;
  const made = {
    corners: new Float32Array(corners.length + faces.length),
    partOf: new Uint16Array(count + faces.length / 3),
    normals: new Float32Array(corners.length + faces.length),
    faces: new Uint32Array(faces.length),
  };
  made.corners.set(corners);
  made.partOf.set(partOf);
  const normals = normalsOf(corners, faces);
  const isLast = new Uint8Array(count);
  let next = count;
  for (let face = 0; face < faces.length; face += 3) {
    let [first, second, last] = place(faces, face / 3);
    if (isLast[last] && !isLast[first]) [first, second, last] = [second, last, first];
    else if (isLast[last] && !isLast[second]) [first, second, last] = [last, first, second];
    if (isLast[last]) {
      made.corners.copyWithin(3 * next, 3 * last, 3 * last + 3);
      made.partOf[next] = partOf[last];
      last = next++;
    } else {
      isLast[last] = 1;
    }
    made.faces.set([first, second, last], face);
    made.normals.set(normals.subarray(face, face + 3), 3 * last);
  }
  return new Faces(made);
}

/** Return the unit normals of faces between points. */
export function normalsOf(points, faces) {
  const found = new Float32Array(faces.length);
  for (let at = 0; at < faces.length; at += 3) {
    const [a, b, c] = [3 * faces[at], 3 * faces[at + 1], 3 * faces[at + 2]];
    const [ux, uy, uz] = [points[b] - points[a], points[b + 1] - points[a + 1], points[b + 2] - points[a + 2]];
    const [vx, vy, vz] = [points[c] - points[a], points[c + 1] - points[a + 1], points[c + 2] - points[a + 2]];
    const [x, y, z] = [uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx];
    const length = Math.hypot(x, y, z) || 1;
    found[at] = x / length;
    found[at + 1] = y / length;
    found[at + 2] = z / length;
  }
  return found;
}

const place = (places, number) => [places[3 * number], places[3 * number + 1], places[3 * number + 2]];

function shapes(gl, { corners, partOf, normals }) {
  const array = gl.createVertexArray();
  gl.bindVertexArray(array);
  const buffers = [];
  const filled = (target, data) => {
    buffers.push(gl.createBuffer());
    gl.bindBuffer(target, buffers.at(-1));
    gl.bufferData(target, data, gl.STATIC_DRAW);
  };
  [
    [corners, 3, gl.FLOAT],
    [normals, 3, gl.FLOAT],
    [partOf, 1, gl.UNSIGNED_SHORT],
  ].forEach(([data, length, kind], place) => {
    filled(gl.ARRAY_BUFFER, data);
    gl.enableVertexAttribArray(place);
    gl.vertexAttribPointer(place, length, kind, false, 0, 0);
  });
  buffers.push(gl.createBuffer());
  gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, buffers.at(-1));
  return { array, buffers };
}

function colourTable(gl, parts) {
  const texture = gl.createTexture();
  gl.bindTexture(gl.TEXTURE_2D, texture);
  const table = new Float32Array(parts.flatMap((part) => [...part.colour, 1]));
  gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGBA32F, parts.length, 1, 0, gl.RGBA, gl.FLOAT, table);
  for (const name of [gl.TEXTURE_MIN_FILTER, gl.TEXTURE_MAG_FILTER]) gl.texParameteri(gl.TEXTURE_2D, name, gl.NEAREST);
  return texture;
}
