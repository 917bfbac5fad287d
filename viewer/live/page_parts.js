// What the scripts of the pages share.

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

/** Wait until all is drawn in a WebGL2 context, or it is lost. */
export async function finished(gl) {
  const drawn = gl.fenceSync(gl.SYNC_GPU_COMMANDS_COMPLETE, 0);
  gl.flush();
  while (!gl.isContextLost() && gl.getSyncParameter(drawn, gl.SYNC_STATUS) !== gl.SIGNALED) {
    await new Promise((done) => setTimeout(done, 1));
  }
  gl.deleteSync(drawn);
}
