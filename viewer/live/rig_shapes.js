// A rig as it comes from the program, made ready to be drawn; and a head's eyes.

/** Return a rig as `Drawing` takes it, from its facts and binary parts: corners, faces, pictures. */
export async function drawable(facts, [corners, faces, ...pictures]) {
  const bitmaps = pictures.map((picture) => createImageBitmap(new Blob([picture])));
  const images = await Promise.all(bitmaps);
  return {
    ...facts,
    images: facts.images.map((image, number) => ({ ...image, picture: images[number] })),
    corners: new Float32Array(corners),
    faces: new Uint32Array(faces),
    partOf: Uint16Array.from(facts.parts.flatMap((part, number) => Array(part.corners).fill(number))),
  };
}

/** Take a message of the program apart: the length of its facts, the facts (JSON), binary parts. */
export function takenApart(message) {
  const length = new DataView(message).getUint32(0);
  const facts = JSON.parse(new TextDecoder().decode(new Uint8Array(message, 4, length)));
  let from = 4 + length;
  return { facts, binary: facts.sizes.map((size) => message.slice(from, (from += size))) };
}

const radians = (degrees) => (degrees * Math.PI) / 180;

/** Return where the eyes of a head are, and which way its face points; see `viewer/eye.py`. */
export function eyesOf(pilot, head) {
  const { right, forward, up } = facing(head);
  const pivot = pilot.eyePoint.map((value, k) => value + [head.x, head.y - pilot.neck, head.z][k]);
  const at = (aside) => pivot.map((value, k) => value + aside * right[k] + pilot.neck * forward[k]);
  const half = pilot.pupilDistance / 2;
  return { left: at(-half), right: at(half), mid: at(0), axes: { right, forward, up } };
}

/** Return right, forward and up of a face that is turned, nodded and tilted by degrees. */
export function facing({ turn, nod, tilt }) {
  const [cy, cp, cr] = [turn, nod, tilt].map((angle) => Math.cos(radians(angle)));
  const [sy, sp, sr] = [turn, nod, tilt].map((angle) => Math.sin(radians(angle)));
  const level = [cy, -sy, 0];
  const above = [-sy * sp, -cy * sp, cp];
  return {
    right: level.map((value, k) => cr * value - sr * above[k]),
    forward: [sy * cp, cy * cp, sp],
    up: level.map((value, k) => sr * value + cr * above[k]),
  };
}
