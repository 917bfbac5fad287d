// Draws what an eye sees of a rig, with WebGL2: parts, what screens show, and all that behind lenses.
//
// Behind an ideal lens every ray from the eye goes on as if it came from one point, the eye's conjugate
// point. So what is seen through a lens is a flat picture of the rig too, by one matrix: each point behind
// the lens maps to the point of the lens plane where the eye sees it. It is drawn where the lens is the
// nearest thing, marked in the stencil buffer; what is seen through two lenses likewise, where the second is
// the nearest thing behind the first. Lengths are mm, in the rig's axes: x right, y forward, z up.

const FIRST_BITS = 5; // of the stencil: which lens a ray meets first; the other three: which it meets next
const FIRST_MASK = (1 << FIRST_BITS) - 1;
const MOST_FIRST = FIRST_MASK;
const MOST_NEXT = 7;
const DEEPEST = 20000; // mm behind an eye or a lens that depths are told up to
const NEAREST = 10; // mm in front of an eye
const BEHIND = 0.01; // mm behind a lens from which on a ray meets things again
// Rays from a far eye cross behind a lens. Where the rig reaches so far, as a share of the way to that place,
// each fragment tells its own depth, which is slower.
const TO_CROSSING = 0.95;

const GROUND = [0.243, 0.259, 0.275, 1]; // sRGB of a dim room

const VERTEX = `#version 300 es
uniform mat4 u_clip;
uniform highp sampler2D u_colours;
in vec3 a_corner;
in float a_part;
out vec3 v_place;
flat out vec4 v_part;
void main() {
  v_place = a_corner;
  v_part = vec4(texelFetch(u_colours, ivec2(int(a_part), 0), 0).rgb, a_part);
  gl_Position = u_clip * vec4(a_corner, 1.0);
}`;

const FRAGMENT = `precision highp float;
uniform vec4 u_depth; // share of the greatest depth, by place
uniform float u_nearest; // such a share, below which nothing is met
uniform mat4 u_start; // from a place to where the last straight piece of its ray began
uniform bool u_ids; // draw part ids
uniform bool u_image;
uniform vec4 u_right, u_up; // across an image from its middle, and up, as shares of its size
uniform float u_gain;
uniform sampler2D u_picture;
in vec3 v_place;
flat in vec4 v_part;
out vec4 colour;

// IEC 61966-2-1 within a code of 255, but for the darkest, by roots, which software draws faster than powers
vec3 srgb(vec3 light) {
  vec3 root = sqrt(light);
  vec3 fourth = sqrt(root);
  vec3 eighth = sqrt(fourth);
  return 0.662002687 * root + 0.684122060 * fourth - 0.323583601 * eighth - 0.0225411470 * light;
}

void main() {
  vec4 place = vec4(v_place, 1.0);
#ifdef OWN_DEPTH
  float depth = dot(u_depth, place);
  if (depth <= u_nearest) discard;
  gl_FragDepth = min(depth, 1.0);
#endif
  if (u_ids) {
    int id = int(v_part.a + 0.5) + 1;
    colour = vec4(float(id & 255), float((id >> 8) & 255), 0.0, 255.0) / 255.0;
    return;
  }

  if (u_image) {
    vec2 at = vec2(0.5 + dot(u_right, place), 0.5 - dot(u_up, place));
    colour = vec4(srgb(u_gain * texture(u_picture, at).rgb), 1.0);
    return;
  }

  // a matt part under an even light from above and behind the pilot
  vec4 start = u_start * place;
  vec3 way = normalize(v_place * start.w - start.xyz) * sign(start.w);
  vec3 normal = normalize(cross(dFdx(v_place), dFdy(v_place)));
  float slant = dot(normal, way);
  float facing = slant > 0.0 ? -1.0 : 1.0;
  colour = vec4(srgb(v_part.rgb * (0.16 + 0.12 * facing * normal.z + 0.24 * abs(slant))), 1.0);
}`;

const COVER = `#version 300 es
void main() {
  gl_Position = vec4(4.0 * float(gl_VertexID & 1) - 1.0, 4.0 * float(gl_VertexID >> 1) - 1.0, 1.0, 1.0);
}`;

const COVER_FRAGMENT = `#version 300 es
precision highp float;
uniform vec4 u_ground;
out vec4 colour;
void main() {
  colour = u_ground;
}`;

/**
 * A rig in a WebGL2 context.
 *
 * `rig` has `parts`, each {kind: "opaque" | "image" | "lens", role, colour, first, count, low, high}: its faces
 * (first and count of them) and the corners of a box around it; `corners` (Float32Array, 3 each), `partOf`
 * (Uint16Array, of each corner), `faces` (Uint32Array, 3 corners each); `images`, each {part, middle, right,
 * up, size, gain, picture}, and `lenses`, each {part, middle, right, away, up, size, focalLength}.
 */
export class Drawing {
  constructor(gl, rig) {
    Object.assign(this, { gl, rig });
    // one that tells depths itself is slower
    [this.quick, this.exact] = ["", "#define OWN_DEPTH\n"].map((rule) =>
      program(gl, VERTEX, `#version 300 es\n${rule}${FRAGMENT}`, ["a_corner", "a_part"]),
    );
    this.cover = this.program(COVER_FRAGMENT);
    this.colours = colourTable(gl, rig.parts);
    this.pictures = rig.images.map((image) => pictureTexture(gl, image.picture));
    this.shapes = shapes(gl, rig);
    const ends = (end, side) => [0, 1, 2].map((k) => end(...rig.parts.map((part) => part[side][k])));
    this.box = { low: ends(Math.min, "low"), high: ends(Math.max, "high") };
  }

  /**
   * Draw what an eye sees into the viewport and framebuffer that are set, which has depth and stencil.
   *
   * `view` has the eye, unit vectors right, forward and up, and the tangents `across` and `upright` of half
   * the field; with `shift`, tangents to the right and up, forward is not the middle of the picture. `ground` is the colour where nothing is met. With `ids`, colours are part ids plus one: low
   * byte in red, high byte in green. Parts of the roles in `without` are left out; without `lenses`, these
   * and their frames. With `part` (left, bottom, width, height; pixels) only that part of the viewport is drawn.
   */
  draw(view, { ground = GROUND, ids = false, lenses = true, without = [], part = null } = {}) {
    const { gl } = this;
    const whole = [...gl.getParameter(gl.VIEWPORT)];
    const left = new Set(lenses ? without : [...without, "lens", "lens frame"]);
    const shown = this.rig.parts.map((one) => !left.has(one.role));
    Object.assign(this, { view, ground, ids, whole, shown, area: part ?? whole });
    gl.bindVertexArray(this.shapes.array);
    for (const able of [gl.DEPTH_TEST, gl.STENCIL_TEST, gl.SCISSOR_TEST]) gl.enable(able);
    gl.scissor(...this.area);
    gl.clearColor(...ground);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT | gl.STENCIL_BUFFER_BIT);

    const straight = straightOn(view);
    this.solids(straight, 0, 0);
    for (const first of this.apertures(straight, this.rig.lenses, 0)) {
      for (const next of this.through(first, this.rig.lenses)) this.through(next, []);
    }
    gl.disable(gl.SCISSOR_TEST);
  }

  /** Mark where lenses are the nearest thing on a way, and return them. */
  apertures(way, lenses, marked) {
    const { gl } = this;
    const found = [];
    gl.colorMask(false, false, false, false);
    gl.stencilOp(gl.KEEP, gl.KEEP, gl.REPLACE);
    for (const lens of lenses) {
      if (lens === way.lens || found.length === (marked ? MOST_NEXT : MOST_FIRST)) continue;
      if (!this.isSeen(way, lens.part)) continue;
      const mark = marked ? marked | ((found.length + 1) << FIRST_BITS) : found.length + 1;
      gl.stencilFunc(gl.EQUAL, mark, marked ? FIRST_MASK : 0);
      this.faces(way, [lens.part]);
      found.push({ lens, mark, before: way });
    }
    gl.colorMask(true, true, true, true);
    gl.stencilOp(gl.KEEP, gl.KEEP, gl.KEEP);
    return found;
  }

  /** Draw what is seen through a marked lens; return other lenses that are the nearest thing behind it. */
  through({ lens, mark, before }, lenses) {
    const { gl } = this;
    gl.stencilFunc(gl.EQUAL, mark, 255);
    gl.scissor(...common(apertureArea(lens, before, this.whole), this.area));
    gl.useProgram(this.cover.program);
    gl.uniform4fv(this.cover.places.u_ground, this.ground);
    gl.depthFunc(gl.ALWAYS);
    gl.drawArrays(gl.TRIANGLES, 0, 3);
    gl.depthFunc(gl.LESS);

    const ways = waysThrough(this.view, lens, before, this.box);
    for (const way of ways) this.solids(way, mark, 255);
    return ways.flatMap((way) => this.apertures(way, lenses, mark));
  }

  /** Draw all that is opaque and seen on a way, where the stencil says so; the nearest first. */
  solids(way, mark, mask) {
    const { gl } = this;
    const { parts, images } = this.rig;
    gl.stencilFunc(gl.EQUAL, mark, mask);
    const seen = parts.map((_, number) => number).filter((number) => this.isSeen(way, number));
    const solid = seen.filter((number) => parts[number].kind === "opaque");
    const depths = new Map(solid.map((number) => [number, nearestDepth(way, parts[number])]));
    this.faces(way, solid.sort((one, other) => depths.get(one) - depths.get(other)));
    images.forEach((image, number) => {
      if (seen.includes(image.part)) this.faces(way, [image.part], image, this.pictures[number]);
    });
  }

  /** Let the graphics memory go. */
  free() {
    const { gl } = this;
    for (const texture of [this.colours, ...this.pictures]) gl.deleteTexture(texture);
    for (const one of [this.quick, this.exact, this.cover]) gl.deleteProgram(one.program);
    gl.deleteVertexArray(this.shapes.array);
    for (const buffer of this.shapes.buffers) gl.deleteBuffer(buffer);
  }

  /** Return a program that a fragment shader makes, which covers the viewport with one triangle. */
  program(fragment) {
    return program(this.gl, COVER, fragment, []);
  }

  isSeen(way, number) {
    return this.shown[number] && isSeen(way, this.rig.parts[number]);
  }

  /** Draw parts, or an image with its picture. */
  faces(way, parts, image, picture) {
    const { gl } = this;
    const { places } = this.use(way.tellsDepth ? this.exact : this.quick);
    gl.uniformMatrix4fv(places.u_clip, true, way.clip);
    gl.uniformMatrix4fv(places.u_start, true, way.start);
    gl.uniform4fv(places.u_depth, way.depth);
    gl.uniform1f(places.u_nearest, way.nearest);
    gl.uniform1i(places.u_image, image ? 1 : 0);
    if (image) {
      const along = (axis, side) => [...axis.map((value) => value / side), -dot(axis, image.middle) / side];
      gl.uniform4fv(places.u_right, along(image.right, image.size[0]));
      gl.uniform4fv(places.u_up, along(image.up, image.size[1]));
      gl.uniform1f(places.u_gain, image.gain);
      gl.activeTexture(gl.TEXTURE0);
      gl.bindTexture(gl.TEXTURE_2D, picture);
    }
    for (const [first, count] of runs(parts.map((number) => this.rig.parts[number]))) {
      gl.drawElements(gl.TRIANGLES, 3 * count, gl.UNSIGNED_INT, 12 * first);
    }
  }

  use(one) {
    const { gl } = this;
    gl.useProgram(one.program);
    gl.uniform1i(one.places.u_picture, 0);
    gl.uniform1i(one.places.u_colours, 1);
    gl.uniform1i(one.places.u_ids, this.ids ? 1 : 0);
    gl.activeTexture(gl.TEXTURE1);
    gl.bindTexture(gl.TEXTURE_2D, this.colours);
    return one;
  }
}

// ---- ways of light: matrices are lists of 16, row by row ----

const IDENTITY = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1];

function dot(a, b) {
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
    seenAt: IDENTITY,
    clip: withDepths(clip, depths),
    start: [0, 1, 2].flatMap((row) => [0, 0, 0, view.eye[row]]).concat(0, 0, 0, 1),
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
  const way = {
    lens,
    eye: applied(outOf, [-slopes.across, 1, -slopes.up, k]),
    seenAt,
    start: product(outOf, onLens),
    depth: behind.map((value) => value / DEEPEST),
    nearest: BEHIND / DEEPEST,
    onLens,
    halves: lens.size.map((length) => length / 2),
  };

  // depths -1 + c py / w, where that will do: the near plane is then the lens itself
  const clip = clipOf(view, seenAt);
  const nearest = Math.min(...apertureCorners(lens).map((corner) => applied(clip, corner)[3]));
  const farthest = Math.max(...boxCorners(box).map((corner) => dot4(behind, corner)));
  if (farthest <= BEHIND) return [];
  if (before.sign > 0 && nearest > NEAREST && k * farthest < TO_CROSSING) {
    const most = (2 * nearest * (1 - k * farthest)) / farthest;
    const depths = clip.slice(12).map((value, at) => most * (behind[at] - (at === 3 ? BEHIND : 0)) - value);
    return [{ ...way, sign: 1, clip: withDepths(clip, depths) }];
  }
  return [1, -1].map((sign) => ({ ...way, sign, tellsDepth: true, clip: scaled(clip, sign) }));
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

function boxCorners({ low, high }) {
  const corner = (number) => [0, 1, 2].map((k) => ((number >> k) & 1 ? high[k] : low[k]));
  return [0, 1, 2, 3, 4, 5, 6, 7].map((number) => [...corner(number), 1]);
}

const nearestDepth = (way, part) => Math.min(...boxCorners(part).map((corner) => dot4(way.depth, corner)));

/** Tell whether a part's box can be in the picture: not all of it beyond one edge of what is open. */
function isSeen(way, part) {
  const corners = boxCorners(part);
  if (corners.every((corner) => dot4(way.depth, corner) <= way.nearest)) return false;
  if (isBeyond(corners, way.clip, [1, 1], [0, 1], 1)) return false;
  return !way.onLens || !isBeyond(corners, way.onLens, way.halves, [0, 2], way.sign);
}

/** Tell whether all points lie beyond one edge of a rectangle, or behind what sees it, after a matrix. */
function isBeyond(points, matrix, halves, rows, sign) {
  const at = points.map((point) => scaled(applied(matrix, point), sign));
  if (at.every((point) => point[3] <= 0)) return true;
  return rows.some((row, number) =>
    [1, -1].some((way) => at.every((point) => way * point[row] > halves[number] * point[3])),
  );
}

// ---- WebGL ----

function program(gl, vertex, fragment, attributes) {
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
  return { program: made, places: Object.fromEntries(names.map((name) => [name, gl.getUniformLocation(made, name)])) };
}

function shapes(gl, rig) {
  const array = gl.createVertexArray();
  gl.bindVertexArray(array);
  const buffers = [];
  const filled = (target, data) => {
    buffers.push(gl.createBuffer());
    gl.bindBuffer(target, buffers.at(-1));
    gl.bufferData(target, data, gl.STATIC_DRAW);
  };
  filled(gl.ARRAY_BUFFER, rig.corners);
  gl.enableVertexAttribArray(0);
  gl.vertexAttribPointer(0, 3, gl.FLOAT, false, 0, 0);
  filled(gl.ARRAY_BUFFER, rig.partOf);
  gl.enableVertexAttribArray(1);
  gl.vertexAttribPointer(1, 1, gl.UNSIGNED_SHORT, false, 0, 0);
  filled(gl.ELEMENT_ARRAY_BUFFER, rig.faces);
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

/** Put a screen's picture into a texture that averages linear light where it is seen small. */
function pictureTexture(gl, picture) {
  const texture = gl.createTexture();
  gl.bindTexture(gl.TEXTURE_2D, texture);
  gl.texImage2D(gl.TEXTURE_2D, 0, gl.SRGB8_ALPHA8, gl.RGBA, gl.UNSIGNED_BYTE, picture);
  gl.generateMipmap(gl.TEXTURE_2D);
  gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MIN_FILTER, gl.LINEAR_MIPMAP_LINEAR);
  gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MAG_FILTER, gl.NEAREST);
  for (const name of [gl.TEXTURE_WRAP_S, gl.TEXTURE_WRAP_T]) gl.texParameteri(gl.TEXTURE_2D, name, gl.CLAMP_TO_EDGE);
  return texture;
}

/** Return first face and number of faces of parts, in as few runs as can be. */
function runs(parts) {
  const found = [];
  for (const { first, count } of parts) {
    const last = found.at(-1);
    if (last && last[0] + last[1] === first) last[1] += count;
    else found.push([first, count]);
  }
  return found;
}
