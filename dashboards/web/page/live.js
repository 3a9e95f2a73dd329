// The stream of snapshots, and the knowledge of how old the newest one is.

const silence = 25_000; // ms without a word (the daemon beats every 10 s) before the line is taken for dead
const grace = 4_000; // ms that a lost line may take to come back before it is said

export class Live {
  constructor(onSnapshot, onState) {
    this.onSnapshot = onSnapshot;
    this.onState = onState;
    this.heard = Date.now(); // of the last word
    this.ages = {}; // press -> age of its newest sample at that moment, s
    this.ever = false;
    this.open();
    setInterval(() => this.tick(), 1000);
    // A phone that slept wakes with a line that is dead and does not know it.
    for (const name of ["online", "pageshow", "focus"]) addEventListener(name, () => this.wake());
    document.addEventListener("visibilitychange", () => document.hidden || this.wake());
  }

  open() {
    this.source?.close();
    this.opened = Date.now();
    this.source = new EventSource("api/v1/stream");
    this.source.addEventListener("status", (e) => {
      const snap = JSON.parse(e.data);
      this.ages = Object.fromEntries(snap.presses.map((p) => [p.press, p.sample_age_s]));
      this.onSnapshot(snap);
      this.hear();
    });
    this.source.addEventListener("beat", (e) => {
      this.ages = JSON.parse(e.data).sample_age_s;
      this.hear();
    });
  }

  hear() {
    this.ever = true;
    this.heard = Date.now();
    this.tick();
  }

  wake() {
    if (Date.now() - this.heard > 12_000) this.open();
    this.tick();
  }

  tick() {
    const now = Date.now();
    const quiet = now - this.heard;
    const down = this.source.readyState !== EventSource.OPEN;
    if ((this.source.readyState === EventSource.CLOSED && now - this.opened > 3000) ||
        (quiet > silence && now - this.opened > silence)) this.open();
    this.onState({ lost: quiet > silence || (down && quiet > grace), quiet: quiet / 1000, ever: this.ever });
  }

  // Age of the newest sample of a press, s; undefined before the first.
  age(press) {
    const age = this.ages[press];
    return age === null || age === undefined ? undefined : age + (Date.now() - this.heard) / 1000;
  }
}
