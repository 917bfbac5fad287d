// How wide pictures are that the browser draws itself: as wide as it is quick with.

export const QUICK = 30; // ms of a pair
const WIDTHS = [320, 640, 960, 1280]; // pixels, and the width that is shown
const APART = 1.2; // at least so many times as wide as the one before
const SERVER = 640; // pixels across, in which a server draws
const ROOM = 0.7; // of the time for a pair, that a wider one may take to be tried again
const FEW = 3; // pairs of one width, of which the middle one counts
const MANY = 12; // pairs before a wider one is tried; twice as many each time that this was too slow

export class Pace {
  constructor(shown) {
    this.widths = [...WIDTHS.filter((width) => width * APART < shown), shown];
    this.tried = new Map(); // ms of a pair, by width, while nothing else goes on
  }

  /** Take note of how long a pair of a width takes; return whether wider ones are worth a try. */
  try(width, took) {
    this.tried.set(width, took);
    return took < 2 * QUICK;
  }

  /** Tell whether pictures are better drawn here than by a server that takes so long (ms). */
  isQuick(server) {
    const fits = [...this.tried.values()].some((took) => took <= QUICK);
    this.most = fits ? QUICK : server;
    return fits || this.tried.get(SERVER) < server;
  }

  /** Begin a movement. */
  start() {
    this.patience = MANY;
    this.become(this.widest(1));
  }

  /** Take note of how long a pair took that is seen; become narrower, or wider, where that is better. */
  note(took) {
    this.recent = [...this.recent, took].slice(-FEW);
    this.pairs += 1;
    if (this.pairs < FEW) return;
    const typical = [...this.recent].sort((one, other) => one - other)[FEW >> 1];
    const load = typical / this.tried.get(this.width);
    const wider = this.all.find((width) => width > this.width);
    if (typical > this.most && this.width > this.all[0]) {
      this.patience *= 2;
      this.become(this.widest(load));
    } else if (this.pairs >= this.patience && this.tried.get(wider) * load < ROOM * this.most) {
      this.become(wider);
    }
  }

  get all() {
    return [...this.tried.keys()];
  }

  /** Return the widest that is quick under a load, or else the narrowest. */
  widest(load) {
    return this.all.findLast((width) => this.tried.get(width) * load <= this.most) ?? this.all[0];
  }

  become(width) {
    Object.assign(this, { width, recent: [], pairs: 0 });
  }
}
