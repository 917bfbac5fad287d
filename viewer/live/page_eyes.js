// The canvases of both eyes: how large they are shown, and what is in them.

import { at, clip } from "./page_parts.js";

export const LEAST = 640; // pixels of a picture across, which the server draws at once
const MOST = 1920;
const SETTLED = 200; // ms after the last change of size, when it counts

/** Return how many of the screen's pixels a picture takes across, within limits. */
export function shownWidth() {
  const { width } = at("left").getBoundingClientRect();
  return clip(Math.round(width * devicePixelRatio), LEAST, MOST);
}

export const heightOf = (width) => Math.round((width * 9) / 16);

/** Show a pair, and say in the page who drew it. */
export function show(bitmaps, by) {
  const { dataset } = at("eyes");
  dataset.drawn = Number(dataset.drawn ?? 0) + 1;
  dataset.width = bitmaps[0].width;
  ["left", "right"].forEach((eye, index) => onto(at(eye), bitmaps[index]));
  dataset.by = by;
}

export function onto(canvas, bitmap) {
  canvas.getContext("bitmaprenderer").transferFromImageBitmap(bitmap);
}

/** Return pictures unpacked. */
export const unpacked = (pictures) =>
  Promise.all(pictures.map((picture) => createImageBitmap(new Blob([picture]))));

/** Do something when pictures have been given another size, by the window or its zoom. */
export function whenResized(act) {
  let timer = 0;
  let before = shownWidth();
  const look = () => {
    if (shownWidth() === before) return;
    before = shownWidth();
    act();
  };
  const wait = () => {
    clearTimeout(timer);
    timer = setTimeout(look, SETTLED);
  };
  new ResizeObserver(wait).observe(at("left"));
  addEventListener("resize", wait); // a zoom may leave the layout as it is
}
