// Colours of the 3D view, and what the graphics processor does for `stage_drawing.js`: lit faces, screens'
// pictures, lines, the ground.

const code = (text) => [1, 3, 5].map((at) => parseInt(text.slice(at, at + 2), 16) / 255);
const coloured = (codes) => Object.fromEntries(Object.entries(codes).map(([name, text]) => [name, code(text)]));
const IN_LIGHT = { lens: "#5b9bc8", image: "#e08a00", edge: "#3c4046", room: "#7a3fa8", ring: "#155a8a" };
const IN_DARK = { lens: "#7db6de", image: "#f0a030", edge: "#0d0f11", room: "#b084d8", ring: "#8cc4ec" };
export const COLOURS = {
  light: coloured({ ...IN_LIGHT, floor: "#d3d7da", sky: "#f7f6f2", left: "#c8501e", right: "#00724e" }),
  dark: coloured({ ...IN_DARK, floor: "#33393f", sky: "#4b535b", left: "#ff8a5c", right: "#3fd09c" }),
};

// each corner is lit: flat faces have one normal at all three
export const LIT = `#version 300 es
uniform mat4 u_clip;
uniform vec3 u_eye, u_light; // in the axes of what is drawn
uniform vec4 u_tint; // and its share
uniform vec2 u_shade;
in vec3 a_place, a_normal, a_colour;
out vec3 v_colour;
void main() {
  float side = dot(a_normal, u_eye - a_place) < 0.0 ? -1.0 : 1.0;
  vec3 own = mix(a_colour, u_tint.rgb, u_tint.a);
  v_colour = own * (u_shade.x + u_shade.y * max(side * dot(a_normal, u_light), 0.0));
  gl_Position = u_clip * vec4(a_place, 1.0);
}`;

export const LIT_FRAGMENT = `#version 300 es
precision mediump float;
uniform float u_alpha;
in vec3 v_colour;
out vec4 colour;
void main() {
  colour = vec4(v_colour, u_alpha);
}`;

export const SHOWN = `#version 300 es
uniform mat4 u_clip;
uniform vec4 u_right, u_up; // across an image from its middle, and up, as shares of its size
in vec3 a_place;
out vec2 v_at;
void main() {
  vec4 place = vec4(a_place, 1.0);
  v_at = vec2(0.5 + dot(u_right, place), 0.5 - dot(u_up, place));
  gl_Position = u_clip * place;
}`;

export const SHOWN_FRAGMENT = `#version 300 es
precision mediump float;
uniform sampler2D u_picture;
in vec2 v_at;
out vec4 colour;
void main() {
  colour = vec4(texture(u_picture, v_at).rgb, 1.0);
}`;

// each piece of a line becomes a rectangle of two triangles, as wide as the line; what is too near is cut off
// first. Software draws corners of their own faster than instances.
export const LINE = `#version 300 es
uniform mat4 u_clip;
uniform vec2 u_pixel; // in clip coordinates
uniform float u_width, u_nearest, u_nearer;
in vec3 a_from, a_to;
void main() {
  vec4 from = u_clip * vec4(a_from, 1.0);
  vec4 to = u_clip * vec4(a_to, 1.0);
  if (max(from.w, to.w) <= u_nearest) {
    gl_Position = vec4(2.0, 2.0, 2.0, 1.0);
    return;
  }
  if (from.w < u_nearest) from = mix(from, to, (u_nearest - from.w) / (to.w - from.w));
  if (to.w < u_nearest) to = mix(to, from, (u_nearest - to.w) / (from.w - to.w));
  vec2 along = (to.xy / to.w - from.xy / from.w) / u_pixel;
  along = dot(along, along) > 0.0 ? normalize(along) : vec2(1.0, 0.0);
  int corner = gl_VertexID % 6; // 0 1 2, 2 1 3 of the rectangle's
  if (corner > 2) corner = corner == 3 ? 2 : corner == 4 ? 1 : 3;
  vec4 end = (corner & 1) == 0 ? from : to;
  vec2 aside = (corner > 1 ? 0.5 : -0.5) * u_width * u_pixel * vec2(-along.y, along.x);
  gl_Position = vec4(end.xy + aside * end.w, end.z - u_nearer, end.w);
}`;

export const LINE_FRAGMENT = `#version 300 es
precision mediump float;
uniform vec3 u_colour;
out vec4 colour;
void main() {
  colour = vec4(u_colour, 1.0);
}`;

export const GROUND = `#version 300 es
out float v_up;
void main() {
  vec2 at = vec2(4.0 * float(gl_VertexID & 1) - 1.0, 4.0 * float(gl_VertexID >> 1) - 1.0);
  v_up = 0.5 + 0.5 * at.y;
  gl_Position = vec4(at, 1.0, 1.0);
}`;

export const GROUND_FRAGMENT = `#version 300 es
precision mediump float;
uniform vec3 u_floor, u_sky;
in float v_up;
out vec4 colour;
void main() {
  colour = vec4(mix(u_floor, u_sky, v_up), 1.0);
}`;
