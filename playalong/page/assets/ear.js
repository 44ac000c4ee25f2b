// The time of an AudioContext that is heard now. A browser tells its time in steps of up to 50 ms,
// each when it hands a piece of sound on, and no piece is heard before that: between the steps the
// time heard runs evenly, behind the latest that any was told.
const WINDOW_MS = 1000; // long enough for many steps, short enough to follow a loudspeaker's own clock
const NOTHING = { low: Infinity, high: -Infinity };

class Ear {
  // `piece`: seconds of sound handed on at a time, as they were asked for.
  constructor(piece) { Object.assign(this, { piece, since: 0, before: NOTHING, now: NOTHING }); }

  heard(context) {
    const now = performance.now();
    if (now - this.since > WINDOW_MS) {
      this.before = now - this.since > 2 * WINDOW_MS ? NOTHING : this.now;
      Object.assign(this, { since: now, now: NOTHING });
    }
    const { contextTime, performanceTime } = context.getOutputTimestamp();
    const ago = (now - performanceTime) / 1000;
    // WebKitGTK tells of a moment yet to come (it adds the context's time to it), and of no latency.
    const told = ago > -0.02;
    const ahead = (told ? contextTime + ago : context.currentTime) - now / 1000;
    this.now = { low: Math.min(this.now.low, ahead), high: Math.max(this.now.high, ahead) };
    // A busy browser may never show a step's end, but always soon after it its beginning.
    const behind = told ? Math.min(this.now.low, this.before.low) : Math.max(this.now.high, this.before.high) - this.piece;
    return now / 1000 + behind;
  }
}
