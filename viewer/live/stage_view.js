// A rig seen from outside: the camera, lines of sight, and what is under a finger. Lengths are mm, in the
// rig's axes: x right, y forward, z up.

import { dot } from "./drawing.js";
import { facing } from "./rig_shapes.js";
import { HEAD_MIDDLE } from "./stage_meshes.js";

const VIEW_ANGLE = 30; // degrees across the narrower side
const NEAREST = 0.02; // of the way to the rig's middle; what is nearer to the camera is not drawn
const FARTHEST = 40; // times that way

export const plus = (a, b, share = 1) => a.map((value, k) => value + share * b[k]);
export const minus = (a, b) => a.map((value, k) => value - b[k]);

/**
 * Return a camera on a way about a ball; see `place_camera` of stage.py. `shift` (mm) moves what it looks at;
 * `shape` is width over height.
 */
export function cameraOf({ middle, radius }, { azimuth, elevation, distance }, shift, shape) {
  const axes = facing({ turn: -azimuth, nod: -elevation, tilt: 0 });
  const half = Math.tan((VIEW_ANGLE / 2) * (Math.PI / 180));
  const narrow = Math.atan(half * Math.min(1, shape));
  const far = (distance * radius) / Math.sin(narrow);
  const eye = plus(plus(middle, shift), axes.forward, -far);
  return { eye, ...axes, far, across: half * shape, upright: half, near: NEAREST * far, end: FARTHEST * far };
}

/** Return a camera's matrix from places to clip coordinates, 16 numbers row by row. */
export function clipOf({ eye, right, forward, up, across, upright, near, end }) {
  const row = (axis, share, add = 0) => [...axis.map((value) => value * share), add - share * dot(axis, eye)];
  const depth = (end + near) / (end - near);
  return [
    ...row(right, 1 / across),
    ...row(up, 1 / upright),
    ...row(forward, depth, (-2 * end * near) / (end - near)),
    ...row(forward, 1),
  ];
}

/** Return a camera in the axes of a head, as `eyesOf` gives it. */
export function seenFrom(view, { mid, axes }) {
  const within = (way) => [axes.right, axes.forward, axes.up].map((axis) => dot(axis, way));
  const [eye, right, forward, up] = [minus(view.eye, mid), view.right, view.forward, view.up].map(within);
  return { ...view, eye, right, forward, up };
}

/** Return where a camera sees a place: from the picture's middle, right and up, half the picture being 1. */
export function seenAt(view, place) {
  const way = minus(place, view.eye);
  const far = dot(way, view.forward);
  return [dot(way, view.right) / far / view.across, dot(way, view.up) / far / view.upright];
}

/** Return how far up a camera sees, mm from the picture's middle, where a place is. */
export const reachAt = (view, place) => dot(minus(place, view.eye), view.forward) * view.upright;

/** Return how far a place moves, in the plane that faces the camera, to be seen so far to the right and up. */
export function movedBy(view, place, [right, up]) {
  const reach = reachAt(view, place);
  const aside = view.right.map((value) => (value * right * reach * view.across) / view.upright);
  return plus(aside, view.up, up * reach);
}

/** Return the middle of a head, as `eyesOf` gives it. */
export function headMiddle({ mid, axes }) {
  const steps = [axes.right, axes.forward, axes.up];
  return steps.reduce((place, axis, k) => plus(place, axis, HEAD_MIDDLE[k]), mid);
}

/** Return the ways from an eye to the middles of a rig's images, bent at their lenses; see stage_shapes.py. */
export function sights(rig, eye, lenses) {
  return rig.images.map(({ middle }, number) => {
    const lens = lenses && rig.lenses.find(({ image }) => image === number);
    const crossing = lens && crossingOf(lens, eye, middle);
    return crossing ? [eye, crossing, middle] : [eye, middle];
  });
}

/**
 * Return where the ray from an eye to a place behind an ideal lens crosses it, null where none does; see
 * `thin_lens_intercepts` of sightlines.py.
 */
function crossingOf(lens, eye, place) {
  const within = (point) => [lens.right, lens.away, lens.up].map((axis) => dot(axis, minus(point, lens.middle)));
  const [here, there] = [within(eye), within(place)];
  const ratio = there[1] / -here[1];
  const share = 1 + ratio - Math.abs(there[1]) / lens.focalLength;
  if (!(ratio > 0) || share === 0) return null;
  const [aside, , above] = plus(there, here, ratio).map((value) => value / share);
  return plus(plus(lens.middle, lens.right, aside), lens.up, above);
}
