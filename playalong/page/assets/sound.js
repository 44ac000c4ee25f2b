// The sound of one track: the mixed file, or guide, drone and click together where the balance asks
// for it. The file lies beside the page, or inside it and is unpacked only when it is wanted.
const STEMS = ["guide", "drone", "click"];
const APART_SECONDS = 0.03; // stems further apart than this are brought together

// Sound inside the page comes after the script, so that the page is ready before it.
const arrived = new Promise((done) => {
  if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", done, { once: true });
  else done();
});

class Sound {
  constructor(main, events) {
    this.events = events;
    this.main = main;
    this.elements = [main];
    this.balance = { guide: 1, drone: 1, click: 1 };
    this.made = new Map(); // addresses of what was unpacked
    this.seen = { t: -1, at: 0 };
    this.watch(main);
  }

  watch(element) {
    element.addEventListener("ended", () => element === this.leader && this.events.ended());
    element.addEventListener("seeked", () => element === this.leader && this.events.moved());
    element.addEventListener("error", () => element.getAttribute("src") && this.events.failed(this.track.audio));
  }

  get leader() { return this.elements[0]; }
  get playing() { return !this.leader.paused && !this.leader.ended; }
  get adjustable() { return Object.keys(this.track.stems || {}).length > 0; }

  load(track) {
    this.elements.forEach((each) => each.pause());
    this.track = track;
    this.arrange(0);
  }

  // One element for the mix as it was made; three where a stem is louder or softer than in it.
  arrange(t) {
    if (document.readyState === "loading" && DATA.inside[this.track.audio]) {
      arrived.then(() => this.arrange(this.wanted));
      this.wanted = t;
      return;
    }
    const apart = this.adjustable && STEMS.some((name) => this.balance[name] !== 1);
    if (apart && !this.stems) {
      this.stems = STEMS.map(() => document.body.appendChild(new Audio()));
      this.stems.forEach((each) => this.watch(each));
    }
    const wanted = apart ? this.stems : [this.main];
    const names = apart ? STEMS.map((name) => this.track.stems[name]) : [this.track.audio];
    this.elements.filter((each) => !wanted.includes(each)).forEach((each) => each.pause());
    this.elements = wanted;
    wanted.forEach((each, n) => {
      if (each.dataset.name !== names[n]) {
        each.dataset.name = names[n];
        each.preload = "auto";
        each.src = this.address(names[n]);
      }
    });
    this.setVolumes();
    this.seek(t);
  }

  address(name) {
    if (!DATA.inside[name]) return name.split("/").map(encodeURIComponent).join("/");
    if (!this.made.has(name)) {
      const [id, type] = DATA.inside[name];
      const bytes = Uint8Array.from(atob(byId(id).textContent), (letter) => letter.charCodeAt(0));
      this.made.set(name, URL.createObjectURL(new Blob([bytes], { type })));
    }
    return this.made.get(name);
  }

  // Some phones let no page set a volume: there each stem is on or off.
  static get volumesWork() {
    const trial = new Audio();
    trial.volume = 0.5;
    return trial.volume === 0.5;
  }

  setVolumes() {
    if (this.elements.length === 1) return;
    this.elements.forEach((each, n) => {
      const loudness = this.balance[STEMS[n]];
      each.volume = loudness * loudness; // the ear hears in ratios
      each.muted = loudness === 0;
    });
  }

  setBalance(name, value) {
    const was = this.balance[name];
    this.balance[name] = value;
    if (!this.adjustable || value === was) return;
    const { playing, time } = this;
    const before = this.elements;
    if (before.length > 1 && STEMS.some((each) => this.balance[each] !== 1)) this.setVolumes();
    else {
      this.arrange(time);
      if (playing && before !== this.elements) this.play();
    }
  }

  async play() {
    try {
      await arrived;
      await Promise.all(this.elements.map((each) => each.play()));
      this.gather();
      return true;
    } catch (error) {
      if (error.name !== "AbortError") this.events.failed(this.track.audio);
      return false;
    }
  }

  pause() { this.elements.forEach((each) => each.pause()); }

  seek(t) {
    this.wanted = Math.max(0, Math.min(t, this.track.seconds - 0.01));
    const at = Math.ceil(this.wanted * 1e6) / 1e6; // browsers cut to microseconds: not before the note
    this.elements.forEach((each) => { each.currentTime = at; });
    this.seen = { t: -1, at: 0 };
  }

  gather() {
    const t = this.leader.currentTime;
    this.elements.slice(1).forEach((each) => {
      if (Math.abs(each.currentTime - t) > APART_SECONDS) each.currentTime = t;
    });
  }

  get time() { return this.leader.currentTime; }

  // The time between two reports of the element, which some browsers give only now and then.
  get smoothTime() {
    const t = this.leader.currentTime, now = performance.now();
    if (!this.playing || t !== this.seen.t) this.seen = { t, at: now };
    return t + Math.min(0.25, (now - this.seen.at) / 1000) * (this.playing && !this.leader.seeking);
  }
}
