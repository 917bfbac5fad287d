// What the page has of the rig for drawing it. When a number of the rig changes, it asks for the rest.

const MOST_KEYS = 2000; // that may be sent; see page_messages.py

export class RigShapes {
  constructor() {
    this.parts = new Map(); // facts, corners, faces, by key
    this.pictures = new Map(); // by key
  }

  /** What is here already, by key; nothing where telling it takes longer than having all sent. */
  get keys() {
    const all = [...this.parts.keys(), ...this.pictures.keys()];
    return all.length > MOST_KEYS ? [] : all;
  }

  /**
   * Take what was not here yet, as the server sends it; return the rig as `Drawing` takes it. What it does not
   * have any more goes; a picture that stays is the same object.
   */
  async take(facts, [corners, faces, ...files]) {
    const pictures = await Promise.all(files.map((file) => createImageBitmap(new Blob([file]))));
    const sent = pictures.values();
    const shown = new Map();
    for (const { picture: key } of facts.images) {
      if (!shown.has(key)) shown.set(key, this.pictures.get(key) ?? sent.next().value);
    }
    this.pictures = shown;
    this.takeParts(facts, new Float32Array(corners), new Uint32Array(faces));

    return {
      ...facts,
      ...joined(facts.keys.map((key) => this.parts.get(key))),
      images: facts.images.map((image) => ({ ...image, picture: shown.get(image.picture) })),
    };
  }

  takeParts({ keys, parts }, corners, faces) {
    const sent = parts.values();
    let [corner, face] = [0, 0];
    const next = () => {
      const told = sent.next().value;
      return {
        told,
        corners: corners.slice(corner, (corner += 3 * told.corners)),
        faces: faces.slice(face, (face += 3 * told.count)),
      };
    };
    const found = new Map();
    for (const key of keys) if (!found.has(key)) found.set(key, this.parts.get(key) ?? next());
    this.parts = found;
  }
}

/** Return parts, corners and faces of a rig from its single parts. */
function joined(all) {
  const total = (count) => all.reduce((sum, { told }) => sum + told[count], 0);
  const corners = new Float32Array(3 * total("corners"));
  const faces = new Uint32Array(3 * total("count"));
  const partOf = new Uint16Array(total("corners"));
  const parts = [];
  let [corner, face] = [0, 0];
  all.forEach(({ told, ...own }, number) => {
    parts.push({ ...told, first: face });
    corners.set(own.corners, 3 * corner);
    faces.set(own.faces.map((one) => one + corner), 3 * face);
    partOf.fill(number, corner, corner + told.corners);
    corner += told.corners;
    face += told.count;
  });
  return { parts, corners, faces, partOf };
}
