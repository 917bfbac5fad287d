// What the page's scripts share.

export const at = (id) => document.getElementById(id);
export const clip = (value, low, high) => Math.min(Math.max(value, low), high);
export const spoken = (unit) => ({ mm: "millimetres", "°": "degrees" })[unit] ?? unit;
export const TEXT_FIELDS = "input:not([type=range], [type=checkbox]), textarea, select";

export function element(name, properties = {}, ...children) {
  const made = Object.assign(document.createElement(name), properties);
  made.append(...children);
  return made;
}

/** Write only what differs, since each write costs the page a look at its layout. */
export function put(target, properties) {
  for (const [name, value] of Object.entries(properties)) {
    if (target[name] !== value) target[name] = value;
  }
}
