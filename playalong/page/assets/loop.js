// A loop of written bars is a row of stretches of the sound: those bars in every pass, in order.
const SOON_SECONDS = 0.03, EARLY_SECONDS = 0.004;

class Loop {
  constructor() { this.range = null; this.stretches = []; }

  set(range, pieces) {
    this.range = range;
    this.stretches = [];
    if (!range) return;
    for (const piece of pieces) {
      for (const bar of piece.bars) {
        if (bar.number === null || bar.number < range[0] || bar.number > range[1]) continue;
        const last = this.stretches[this.stretches.length - 1];
        if (last && Math.abs(last.to - bar.from) < 0.001) last.to = bar.to;
        else this.stretches.push({ from: bar.from, to: bar.to });
      }
    }
  }

  holds(t) { return this.stretches.some(({ from, to }) => from <= t && t < to); }

  // Where to jump from t and in how many seconds, or null to go on. A jump is told a little before
  // its time, so that the click after the loop is not heard. `before` is the last time looked at.
  jump(before, t) {
    const index = this.stretches.findIndex(({ from, to }) => from <= before && before < to);
    if (index < 0) return this.holds(t) ? null : { to: this.stretches[0].from, wait: 0 };
    const wait = this.stretches[index].to - t;
    if (wait > SOON_SECONDS) return null;
    return { to: this.stretches[(index + 1) % this.stretches.length].from, wait: Math.max(0, wait - EARLY_SECONDS) };
  }
}
