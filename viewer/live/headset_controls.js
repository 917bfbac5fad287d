// The page's part of a headset: the cautions before, what is told meanwhile, and the way back.

import { Headset, isThere } from "./headset.js";
import { at, element, put } from "./page_parts.js";

const APART = 2; // mm between pupil distances, from which on pictures differ enough to say so

const inWords = (distance) => `${(Math.round(distance * 10) / 10).toFixed(1)} mm`;

/**
 * Let the page offer a headset where there is one; return it.
 *
 * `name` and `pilot` are the rig's, `cautions` are texts; `draw` and `squeezed` are those of `Headset`, and
 * `left` is called when the page is as before.
 */
export function offerHeadset(gl, { name, pilot }, cautions, { draw, squeezed, left }) {
  const headset = new Headset(gl, pilot.eyePoint, { draw, squeezed, shown, lost, ended });
  const tell = (text) => put(at("headset_state"), { textContent: text }); // said aloud at each change

  function shown([one, other]) {
    const distance = Math.hypot(...one.eye.map((value, k) => value - other.eye[k]));
    const differs = Math.abs(distance - pilot.pupilDistance) > APART;
    const yours = differs ? " What you see is for the headset's." : "";
    tell(
      `In the headset; the page shows what its left eye sees. Its interpupillary distance is ` +
        `${inWords(distance)}, the rig's ${inWords(pilot.pupilDistance)}.${yours}`,
    );
  }

  function lost() {
    tell("The headset does not know where it is: it shows black until it does.");
  }

  function ended() {
    show(false);
    tell("");
    left();
  }

  /** Show what is of use in a headset, or on the page alone. */
  function show(inside) {
    document.body.classList.toggle("in_headset", inside);
    gl.canvas.inert = inside; // looking around is the head's alone
    at("enter").hidden = inside;
    for (const id of ["seated", "leave"]) at(id).hidden = !inside;
    at(inside ? "leave" : "enter").focus();
    offer();
  }

  async function offer() {
    at("headset").hidden = !headset.session && !(await isThere());
  }

  async function enter() {
    at("before").close();
    at("status").textContent = "";
    try {
      await headset.enter();
      show(true);
    } catch (error) {
      at("status").textContent = `The headset cannot be entered: ${error.message}`;
    }
  }

  at("before_title").textContent = `Before you sit in ${name}`;
  at("before_list").replaceChildren(...cautions.map((text) => element("li", {}, text)));
  at("enter").onclick = () => {
    at("before").showModal();
    at("stay").focus(); // so that a second press of a key enters nothing
  };
  at("stay").onclick = () => at("before").close();
  at("confirm").onclick = enter;
  at("seated").onclick = () => headset.calibrate();
  at("leave").onclick = () => headset.leave();
  gl.canvas.addEventListener("webglcontextlost", () => {
    if (!headset.space) return; // as it may be lost on the way into the headset
    headset.leave();
    at("status").textContent = "The graphics were lost, so the headset was left. You can enter again.";
  });
  navigator.xr?.addEventListener("devicechange", offer);
  offer();
  return headset;
}
