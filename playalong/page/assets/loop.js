// A loop of written bars is a row of stretches of the sound: those bars in every pass, in order.
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
}

// The stretches one after the other, as seconds from the loop's start and back.
class Ring {
  constructor(stretches) {
    this.seconds = 0;
    this.stretches = stretches.map(({ from, to }) => {
      const at = this.seconds;
      this.seconds += to - from;
      return { from, to, at };
    });
  }

  // Where a time of the track stands in the ring; its start for a time outside.
  place(t) {
    const found = this.stretches.find(({ from, to }) => from <= t && t < to);
    return found ? found.at + t - found.from : 0;
  }

  time(place) {
    const turned = ((place % this.seconds) + this.seconds) % this.seconds;
    const found = this.stretches.findLast(({ at }) => at <= turned);
    return found.from + turned - found.at;
  }
}
