// Draws pictures in equal steps of azimuth and elevation: flat ones first, which are then bent and laid side by side.

import { dot, HATCHED } from "./drawing.js";
import { FlatTarget, Watch } from "./watch.js";

const WIDEST_TILE = [60, 105]; // degrees across a flat picture, and up: about the fewest pixels in all
const CELL = 10; // degrees: places are off by at most 0.05 pixels
const ASIDE = 8; // degrees by which eyes see a thing in different directions, as a rule at most
const EDGE_STEPS = 8; // places along each edge of a tile where the field of its flat picture is measured
const ROOM = 1.01; // of a flat picture, against the tile that it must hold

// A tile is laid down in cells, between whose corners sines and cosines are told in proportion.
const LAY = `#version 300 es
uniform vec2 u_cells; // across and up
uniform vec4 u_angles; // radians: azimuth and elevation at the tile's lower left corner, and from edge to edge
uniform vec4 u_shown; // of the tile in the picture: its lower left corner and size, clip coordinates
out vec2 v_azimuth, v_elevation; // their sines and cosines
void main() {
  vec2 share = vec2(gl_VertexID >> 1, gl_InstanceID + (gl_VertexID & 1)) / u_cells;
  vec2 angle = u_angles.xy + share * u_angles.zw;
  v_azimuth = vec2(sin(angle.x), cos(angle.x));
  v_elevation = vec2(sin(angle.y), cos(angle.y));
  gl_Position = vec4(u_shown.xy + share * u_shown.zw, 0.0, 1.0);
}`;

const LAY_FRAGMENT = `#version 300 es
precision highp float;
uniform sampler2D u_flat;
uniform mat3 u_axes; // columns: right, up and forward of the flat picture
uniform vec2 u_field; // tangents of half its field, across and up
uniform vec4 u_place; // where it is in the texture: lower left corner and size, pixels
uniform ivec4 u_area; // of the wide picture
uniform bool u_hatched;
in vec2 v_azimuth, v_elevation;
out vec4 colour;
${HATCHED}
void main() {
  vec2 elevation = normalize(v_elevation);
  vec3 way = vec3(normalize(v_azimuth) * elevation.y, elevation.x) * u_axes;
  vec2 at = 0.5 + 0.5 * way.xy / (way.z * u_field);
  colour = texelFetch(u_flat, ivec2(u_place.xy + at * u_place.zw), 0);
  if (u_hatched && colour.a < 0.5) colour = hatched(ivec2(gl_FragCoord.xy), u_area);
}`;

const radians = (degrees) => (degrees * Math.PI) / 180;

/** Wide pictures of a `Drawing`. */
export class WideDrawing {
  constructor(drawing) {
    this.drawing = drawing;
    const { gl } = drawing;
    this.lay = drawing.program(LAY, LAY_FRAGMENT);
    this.target = new FlatTarget(gl);
    this.watch = new Watch(drawing);
  }

  /**
   * Draw what an eye sees into an area (left, bottom, width, height; pixels) of the canvas.
   *
   * `projection` has, in degrees, azimuth and elevation of the picture's middle, and its field across. With
   * `fineness`, flat pictures have so many pixels for one of the picture, each way; the wide picture's edges
   * are then nearer to where they are. With an `other` eye, images are tinted by who sees them, in the colours
   * `tints`; see `Watch`. For further options see `Drawing`.
   */
  draw(eye, projection, area, { fineness = 1, part = area, other = null, tints = {}, ...options } = {}) {
    const { gl } = this.drawing;
    const [, , width, height] = area;
    const field = [radians(projection.field), (radians(projection.field) * height) / width];
    const corner = [
      radians(projection.azimuth) - field[0] / 2,
      radians(projection.elevation) - field[1] / 2,
    ];
    const fine = (fineness * width) / field[0]; // pixels for a radian
    const tiles = placed(tilesOf(corner, field), fine);

    // the other eye's, which sees what is beyond the edge too
    let watch = null;
    if (other) {
      const beyond = radians(ASIDE);
      const around = tilesOf(corner.map((angle) => angle - beyond), field.map((angle) => angle + 2 * beyond));
      watch = this.watch.look(other, placed(around, fine), tints, options);
    }

    // the flat pictures, side by side in one texture
    this.target.bind(tiles.width, tiles.height);
    for (const tile of tiles.all) {
      this.drawing.draw({ ...tile, eye }, { ...options, watch, area: tile.place, hatched: false });
    }

    // lay them side by side
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    gl.viewport(...area);
    for (const able of [gl.DEPTH_TEST, gl.STENCIL_TEST]) gl.disable(able);
    gl.enable(gl.SCISSOR_TEST);
    gl.scissor(...part);
    const { places } = this.lay;
    gl.useProgram(this.lay.program);
    gl.activeTexture(gl.TEXTURE0);
    gl.bindTexture(gl.TEXTURE_2D, this.target.texture);
    gl.uniform1i(places.u_flat, 0);
    gl.uniform4i(places.u_area, ...area);
    gl.uniform1i(places.u_hatched, options.ids ? 0 : 1);
    for (const tile of tiles.all) {
      const cells = tile.angles.slice(2).map((angle) => Math.ceil(angle / radians(CELL)));
      gl.uniform2f(places.u_cells, ...cells);
      gl.uniform4f(places.u_angles, ...tile.angles);
      gl.uniform4f(places.u_shown, ...tile.shown);
      gl.uniformMatrix3fv(places.u_axes, false, [...tile.right, ...tile.up, ...tile.forward]);
      gl.uniform2f(places.u_field, tile.across, tile.upright);
      gl.uniform4f(places.u_place, ...tile.place);
      gl.drawArraysInstanced(gl.TRIANGLE_STRIP, 0, 2 * (cells[0] + 1), cells[1]);
    }
    gl.disable(gl.SCISSOR_TEST);
    gl.bindTexture(gl.TEXTURE_2D, null); // or it would be read while it is drawn into
  }

  /** Let the graphics memory go. */
  free() {
    this.target.free();
    this.watch.free();
    this.drawing.gl.deleteProgram(this.lay.program);
  }
}

/** Cut a field, radians, into tiles, each with a flat picture that holds it. */
function tilesOf(corner, field) {
  const counts = field.map((angle, axis) => Math.ceil(angle / radians(WIDEST_TILE[axis]) - 1e-9));
  const size = field.map((angle, axis) => angle / counts[axis]);
  const tiles = [];
  for (let row = 0; row < counts[1]; row++) {
    for (let column = 0; column < counts[0]; column++) {
      const first = [corner[0] + column * size[0], corner[1] + row * size[1]];
      const shown = [(2 * column) / counts[0] - 1, (2 * row) / counts[1] - 1, 2 / counts[0], 2 / counts[1]];
      const middle = first.map((angle, axis) => angle + size[axis] / 2);
      tiles.push({ ...tile(middle, size), angles: [...first, ...size], shown });
    }
  }
  return tiles;
}

function tile([azimuth, elevation], [wide, high]) {
  const right = [Math.cos(azimuth), -Math.sin(azimuth), 0];
  const forward = towards(azimuth, elevation);
  const up = towards(azimuth, elevation + Math.PI / 2);
  const found = { right, forward, up, across: 0, upright: 0 };
  for (let step = 0; step <= EDGE_STEPS; step++) {
    const along = step / EDGE_STEPS - 0.5;
    for (const [x, y] of [[along, 0.5], [along, -0.5], [0.5, along], [-0.5, along]]) {
      const way = towards(azimuth + x * wide, elevation + y * high);
      const ahead = dot(way, forward) / ROOM;
      found.across = Math.max(found.across, Math.abs(dot(way, right)) / ahead);
      found.upright = Math.max(found.upright, Math.abs(dot(way, up)) / ahead);
    }
  }
  return found;
}

const towards = (azimuth, elevation) => [
  Math.sin(azimuth) * Math.cos(elevation),
  Math.cos(azimuth) * Math.cos(elevation),
  Math.sin(elevation),
];

/** Place flat pictures side by side; `fineness` pixels for a radian in their middles. */
function placed(tiles, fineness) {
  let left = 0;
  const all = tiles.map((one) => {
    const [width, height] = [one.across, one.upright].map((tangent) => Math.ceil(2 * tangent * fineness));
    const place = [left, 0, width, height];
    left += width;
    return { ...one, place };
  });
  return { all, width: left, height: Math.max(...all.map((one) => one.place[3])) };
}
