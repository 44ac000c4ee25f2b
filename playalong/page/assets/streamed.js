// A track as the browser plays a file, bit by bit: for what is too long to be held as samples, and
// where the page stands without its sound. A loop is a jump here, and leaves a short gap.
const SOON_SECONDS = 0.03, EARLY_SECONDS = 0.004;

class Streamed {
  constructor(element, events) {
    Object.assign(this, { element, events, stretches: [], made: new Map() });
    this.seen = { t: -1, at: 0 };
    element.addEventListener("ended", () => this.ended());
    element.addEventListener("seeked", () => this.events.moved());
    element.addEventListener("pause", () => element.ended || this.wanted || this.events.interrupted());
    element.addEventListener("error", () => element.getAttribute("src") && this.events.failed(this.track.audio));
    element.addEventListener("timeupdate", () => this.tick());
  }

  get playing() { return !this.element.paused && !this.element.ended; }

  async load(track) {
    this.track = track;
    this.stretches = [];
    if (this.element.dataset.name === track.audio) return;
    this.element.dataset.name = track.audio;
    this.element.src = DATA.inside[track.audio] ? await this.unpacked(track.audio) : address(track.audio);
  }

  async unpacked(name) {
    if (!this.made.has(name)) {
      this.made.set(name, URL.createObjectURL(new Blob([await bytesOf(name)], { type: DATA.inside[name][1] })));
    }
    return this.made.get(name);
  }

  async play() {
    try {
      await this.element.play();
      return true;
    } catch (error) {
      if (error.name !== "AbortError") this.events.failed(this.track.audio);
      return false;
    }
  }

  pause() { this.stay(); this.wanted = true; this.element.pause(); this.wanted = false; }

  seek(t) {
    this.stay();
    this.before = t;
    this.element.currentTime = Math.ceil(t * 1e6) / 1e6; // browsers cut to microseconds: not before the note
    this.seen = { t: -1, at: 0 };
  }

  setLoop(stretches) { this.stay(); this.stretches = stretches; }
  setBalance() { /* there is one file */ }

  ended() {
    if (!this.stretches.length) { this.events.ended(); return; }
    this.seek(this.stretches[0].from);
    this.play();
  }

  // Looked at as often as can be: a jump is told a little before its time, so that the click after
  // the loop is not heard.
  tick() {
    const t = this.element.currentTime;
    if (!this.playing || this.element.seeking || this.jumping) return;
    const jump = this.stretches.length ? this.jump(t) : null;
    if (jump) this.jumping = setTimeout(() => this.seek(jump.to), jump.wait * 1000);
    else this.before = t;
  }

  jump(t) {
    const index = this.stretches.findIndex(({ from, to }) => from <= this.before && this.before < to);
    const inside = this.stretches.some(({ from, to }) => from <= t && t < to);
    if (index < 0) return inside ? null : { to: this.stretches[0].from, wait: 0 };
    const wait = this.stretches[index].to - t;
    if (wait > SOON_SECONDS) return null;
    return { to: this.stretches[(index + 1) % this.stretches.length].from, wait: Math.max(0, wait - EARLY_SECONDS) };
  }

  // No jump that was about to come.
  stay() { clearTimeout(this.jumping); this.jumping = null; }

  // The time between two reports of the element, which some browsers give only now and then.
  get time() {
    const t = this.element.currentTime, now = performance.now();
    if (!this.playing || t !== this.seen.t) this.seen = { t, at: now };
    return t + Math.min(0.25, (now - this.seen.at) / 1000) * (this.playing && !this.element.seeking);
  }
}
