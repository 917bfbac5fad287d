// Sliders for numbers of the rig file: choosing, changing, undoing, writing.
// Nothing is written before it is asked for.

import { at, clip, element, put, spoken, TEXT_FIELDS } from "./page_parts.js";

const ONE_ACT = 1000; // ms between two changes of a slider up to which they are undone together

let numbers = new Map(); // what the file says, by path
const values = new Map(); // of the sliders, by path
const done = [];
const undone = [];
let act = null; // the change that goes on: path, from
let version = ""; // of the file, as the server has read it
let base = ""; // of the file that the changes were made to
let most = 0;
const NOTHING = { text: "", wrong: false };
let outcome = NOTHING; // of the last wish to write or to choose
let tell = {}; // what the page does: changed(), ask(want, more)

/** Return the changed numbers: those that differ from the file's. */
export function changes() {
  const differ = ([path, value]) => value !== numbers.get(path)?.value;
  return Object.fromEntries([...values].filter(differ));
}

/** Say what the page does when a number was changed, or something is to be written. */
export function begin(page) {
  tell = page;
}

/** Take the numbers of a file that was read, at first, again, or as it was just written by us. */
export function take(facts, written = null) {
  const isFirst = !version;
  const pending = changes();
  const before = numbers;
  numbers = new Map(facts.numbers.map((number) => [number.path, number]));
  for (const [path, value] of values) {
    const now = numbers.get(path);
    if (!now) values.delete(path);
    else if (!(path in pending) || written?.[path] === value) values.set(path, now.value);
  }
  if (isFirst) {
    for (const [path, value] of Object.entries(facts.changes)) values.set(path, value);
  }

  version = facts.version;
  most = facts.most_changes;
  if (isFirst || written || !Object.keys(changes()).length) base = version;
  const gone = Object.keys(pending).filter((path) => !numbers.has(path));
  if (gone.length) report(`No longer in the rig file: ${gone.join(", ")}`);

  const fixed = facts.fixed.join(", ");
  put(at("fixed"), { hidden: !fixed, textContent: `Set by --set, not written: ${fixed}` });
  at("pick_list").replaceChildren(...facts.numbers.map(option));
  if (!at("new_name").value) at("new_name").value = facts.file.replace(/(\.toml)?$/, "-2.toml");
  if (![...before.keys()].every((path) => numbers.has(path)) || isFirst || written) buildRows();
  else for (const path of values.keys()) fit(path);
  show();
}

/** Set several numbers at once, as a rig of a trade-off curve has them; return why not, or "". */
export function set(wanted) {
  const paths = Object.keys(wanted);
  const unknown = paths.filter((path) => !numbers.has(path));
  if (unknown.length) return `The rig file has no number called ${unknown.join(", ")}: is the curve of this rig?`;
  if (new Set([...values.keys(), ...paths]).size > most) return `At most ${most} sliders: remove some first`;
  finish();
  for (const path of paths) {
    if (!values.has(path)) addRow(path);
    const { low, high } = numbers.get(path);
    const to = clip(round(wanted[path]), low, high);
    done.push({ path, from: values.get(path), to, at: -Infinity });
    values.set(path, to);
  }
  undone.length = 0;
  settle();
  return "";
}

/** Take the answer to a wish to write. */
export function answered(facts, sent) {
  if (facts.lines) report(["Nothing was written: the rig would be wrong.", ...facts.lines].join(" "));
  else if (facts.problem) {
    const isTold = facts.kind === "write" && base !== version; // as a conflict
    report(isTold ? "Nothing was written" : facts.problem);
  } else if (facts.kind === "write") {
    take(facts.rig, sent);
    report(`Written to ${facts.name}`, false);
  } else {
    name(false);
    report(`Saved as ${facts.name}. This page still shows ${facts.file}`, false);
  }
}

function option(number) {
  const made = element("option", { value: number.path });
  made.label = number.written || worded(number.value, number.unit);
  return made;
}

const sentence = (words) => words.charAt(0).toUpperCase() + words.slice(1).replaceAll("`", "");
const round = (value) => Number(value.toPrecision(10));
const worded = (value, unit) => `${round(value)}${unit === "°" ? "" : " "}${unit}`.trim();

/** Say what became of a wish, until a number is changed again. */
function report(text, wrong = true) {
  outcome = { text, wrong };
  showStatus();
}

/** Say that, and whether anything is still to be written. */
function showStatus() {
  const count = Object.keys(changes()).length;
  const ways = "go back to the file's values, or save a new file";
  const others = `The rig file was changed by another program meanwhile: ${ways}`;
  const conflict = count && base !== version ? others : "";
  const pending = count ? `${count} number${count > 1 ? "s" : ""} changed, not written` : "";
  const told = [outcome.text, conflict, pending].filter(Boolean).join(" · ");
  put(at("values_status"), { textContent: told });
  at("values_status").classList.toggle("wrong", outcome.wrong || Boolean(conflict));
}

// ---- changing ----

/** Move a number; `finish` ends what is undone as one. */
function move(path, value) {
  act ??= { path, from: values.get(path) };
  values.set(path, round(value));
  outcome = NOTHING;
  show(path);
  tell.changed();
}

function finish() {
  if (!act) return;
  const { path, from } = act;
  const to = values.get(path);
  const last = done.at(-1);
  act = null;
  if (from === to) return;
  undone.length = 0;
  const now = performance.now();
  if (last?.path === path && now - last.at < ONE_ACT) Object.assign(last, { to, at: now });
  else done.push({ path, from, to, at: now });
  show(path);
}

function undo(from, to, key) {
  finish();
  const step = from.pop();
  if (!step) return;
  to.push({ ...step, at: -Infinity });
  if (numbers.has(step.path)) {
    if (!values.has(step.path)) addRow(step.path);
    values.set(step.path, step[key]);
  }
  settle();
}

function settle() {
  if (!Object.keys(changes()).length) base = version;
  outcome = NOTHING;
  show();
  tell.changed();
}

function add() {
  const path = at("pick").value.trim();
  if (!numbers.has(path)) report(path ? `The rig file has no number called ${path}` : "Choose a number first");
  else if (values.has(path)) at(`value ${path}`).focus();
  else if (values.size >= most) report(`At most ${most} sliders: remove one first`);
  else {
    addRow(path);
    at("pick").value = "";
    outcome = NOTHING;
    show();
    at(`value ${path}`).focus();
  }
}

function remove(path) {
  finish();
  const from = values.get(path);
  const to = numbers.get(path).value;
  if (from !== to) done.push({ path, from, to, at: -Infinity });
  values.delete(path);
  at(`row ${path}`).remove();
  at("pick").focus();
  settle();
}

function back() {
  finish();
  for (const [path, value] of Object.entries(changes())) {
    const to = numbers.get(path).value;
    done.push({ path, from: value, to, at: -Infinity });
    values.set(path, to);
  }
  undone.length = 0;
  settle();
}

// ---- rows ----

function buildRows() {
  const paths = [...values.keys()];
  at("value_rows").replaceChildren();
  for (const path of paths) addRow(path);
}

function addRow(path) {
  const number = numbers.get(path);
  if (!values.has(path)) values.set(path, number.value);
  const row = at("value_row").content.cloneNode(true).firstElementChild;
  const [title, cross, slider, field, unit] = row.children;
  Object.assign(row, { id: `row ${path}`, ariaLabel: path });
  title.textContent = path;
  unit.textContent = number.unit;
  Object.assign(cross, { onclick: () => remove(path), ariaLabel: `Remove ${path}`, title: "Remove" });
  Object.assign(slider, { id: `value ${path}`, ariaLabel: path });
  Object.assign(field, { id: `typed ${path}`, ariaLabel: `${path}, ${spoken(number.unit)}`, step: "any" });

  slider.oninput = () => move(path, slider.valueAsNumber);
  field.oninput = () => {
    const { low, high } = numbers.get(path);
    if (Number.isFinite(field.valueAsNumber)) move(path, clip(field.valueAsNumber, low, high));
  };
  slider.onchange = finish;
  field.onchange = () => {
    finish();
    field.value = values.get(path);
  };
  at("value_rows").append(row);
  fit(path);
}

/** Give a slider its ends, and say what the file has. */
function fit(path) {
  const number = numbers.get(path);
  const { first, last, step, written, unit, meaning } = number;
  put(at(`value ${path}`), { min: String(first), max: String(last), step: String(step) });
  const isFormula = written.trimStart().startsWith("=");
  const text = written || worded(number.value, unit);
  const file = `in the file: ${text}${isFormula ? ", a formula, which writing replaces" : ""}`;
  const ends = `${first} to ${worded(last, unit)}`;
  put(at(`row ${path}`).querySelector(".hint"), { textContent: `${ends}; ${file}. ${sentence(meaning)}` });
}

/** Make the controls show the values: of one number, or of all. */
function show(only = null) {
  for (const [path, value] of only ? [[only, values.get(only)]] : values) {
    const [slider, field] = [at(`value ${path}`), at(`typed ${path}`)];
    put(slider, { value: String(value), ariaValueText: worded(value, spoken(numbers.get(path).unit)) });
    if (document.activeElement !== field) put(field, { value: String(value) });
    at(`row ${path}`).classList.toggle("changed", value !== numbers.get(path).value);
  }
  put(at("undo"), { ariaDisabled: String(!done.length) });
  put(at("redo"), { ariaDisabled: String(!undone.length) });
  showStatus();
}

// ---- hands ----

function name(isOpen) {
  put(at("naming"), { hidden: !isOpen });
  put(at("open_save_as"), { ariaExpanded: String(isOpen) });
  (isOpen ? at("new_name") : at("open_save_as")).focus();
}

function write() {
  finish();
  if (Object.keys(changes()).length) tell.ask("write", { version: base });
  else report("No number is changed", false);
}

at("add").onclick = add;
at("undo").onclick = () => undo(done, undone, "from");
at("redo").onclick = () => undo(undone, done, "to");
at("back").onclick = back;
at("write").onclick = write;
at("open_save_as").onclick = () => name(at("naming").hidden);
at("save_as").onclick = () => tell.ask("save_as", { name: at("new_name").value });
at("pick").onkeydown = (event) => {
  if (event.key === "Enter") add();
};
at("new_name").onkeydown = (event) => {
  if (event.key === "Enter") at("save_as").click();
  if (event.key === "Escape") name(false);
};

addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey) || event.altKey || event.target.matches(TEXT_FIELDS)) return;
  const key = event.key.toLowerCase();
  const isRedo = key === "y" || (key === "z" && event.shiftKey);
  if (key !== "z" && !isRedo) return;
  event.preventDefault();
  at(isRedo ? "redo" : "undo").click();
});
