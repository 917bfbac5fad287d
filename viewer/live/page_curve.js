// The trade-off curve that `seamsight choose --json` wrote, as a picture: a click on a point shows its rig.

import { at, put } from "./page_parts.js";

const SVG = "http://www.w3.org/2000/svg";
const WIDTH = 480; // of the picture; its height too, and room around the points
const HEIGHT = 260;
const ROOM = { left: 20, right: 30, top: 24, bottom: 40 };
const RADIUS = 6; // of a point
const MOST_BYTES = 1_000_000;
const MOST_POINTS = 200;

/** Let a curve be opened; `choose` takes a point's changes, and says whether they can be made. */
export function begin(choose) {
  at("curve_file").onclick = () => (at("curve_file").value = ""); // so that a file may be opened again
  at("curve_file").onchange = async () => {
    const [file] = at("curve_file").files;
    if (!file) return;
    at("curve").replaceChildren();
    const answer = file.size <= MOST_BYTES ? read(await file.text()) : null;
    put(at("curve_status"), {
      textContent: answer ? "" : "This is no trade-off curve: open what `choose` with two goals and --json printed.",
    });
    if (answer) at("curve").append(drawn(answer, choose));
  };
}

/** Return goals and points of an answer, or null for anything else. */
function read(text) {
  try {
    const { goals, curve } = JSON.parse(text);
    const isNumber = (value) => typeof value === "number" && Number.isFinite(value);
    const isPoint = ({ changes, figures }) =>
      goals.every((goal) => isNumber(figures[goal])) && Object.values(changes).every(isNumber);
    const isCurve = goals.length === 2 && curve.length > 0 && curve.length <= MOST_POINTS;
    return isCurve && curve.every(isPoint) ? { goals, curve } : null;
  } catch {
    return null;
  }
}

function drawn({ goals, curve }, choose) {
  const [up, across] = goals.map((goal) => curve.map((point) => point.figures[goal]));
  const x = scale(across, ROOM.left, WIDTH - ROOM.right);
  const y = scale(up, HEIGHT - ROOM.bottom, ROOM.top);
  const places = curve.map((_, number) => [x(across[number]), y(up[number])]);
  const label = `Trade-off between ${goals.join(" and ")}`;
  const picture = made("svg", { viewBox: `0 0 ${WIDTH} ${HEIGHT}`, role: "group", "aria-label": label });
  picture.append(
    made("polyline", { points: places.map((place) => place.join(",")).join(" ") }),
    made("text", { x: ROOM.left, y: 14 }, `↑ ${ends(goals[0], up)}`),
    made("text", { x: ROOM.left, y: HEIGHT - 10 }, `→ ${ends(goals[1], across)}`),
    ...curve.map((point, number) => dot(point, number, places[number], goals, choose)),
  );
  return picture;
}

function dot({ changes, figures }, number, [cx, cy], goals, choose) {
  const told = goals.map((goal) => `${goal} ${shortened(figures[goal])}`).join(", ");
  const words = `rig ${number + 1}: ${told}`;
  const point = made("circle", { cx, cy, r: RADIUS, tabindex: 0, role: "button", "aria-label": words });
  point.append(made("title", {}, words));
  const show = () => {
    const why = choose(changes);
    put(at("curve_status"), { textContent: why || `Showing ${words}` });
    for (const other of at("curve").querySelectorAll("circle")) {
      other.setAttribute("aria-pressed", String(!why && other === point));
    }
  };
  point.onclick = show;
  point.onkeydown = (event) => {
    if (event.key !== "Enter" && event.key !== " ") return;
    event.preventDefault();
    show();
  };
  return point;
}

/** Return a function from a value to its place between two ends. */
function scale(values, first, last) {
  const [low, high] = [Math.min(...values), Math.max(...values)];
  return (value) => first + ((last - first) * (value - low)) / (high - low || 1);
}

const shortened = (value) => String(Number(value.toPrecision(4)));
const ends = (goal, values) =>
  `${goal}: ${shortened(Math.min(...values))} to ${shortened(Math.max(...values))}`;

function made(name, attributes, text = "") {
  const node = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
  node.textContent = text;
  return node;
}
