// A track as samples on the clock of one AudioContext: its files start on one frame, and a loop is
// one buffer that the browser itself repeats, to the frame, whether the tab is seen or not.
const RATE = DATA.block.rate;
const HELD_SECONDS = 480; // of all files of a track together; more would fill a phone's memory
const LATENCY = 0.05; // seconds of sound handed over at a time, so that a busy machine loses none when hidden
const AHEAD = 2 * LATENCY; // from being asked to sounding: the context's clock moves on in steps of the latency
const JOIN_AHEAD = 3 * LATENCY; // where sound goes on across a join nobody waits, and a late one would be heard
const FADE = 0.008; // seconds over which the drone is led past a join, or a sound is ended

class Decoded {
  constructor(events) {
    Object.assign(this, { events, buffers: [], ring: null, at: 0, playing: false, balance: {} });
  }

  // Samples need no context, and a context may not begin before the player presses something.
  async read(sounds) {
    const reader = new OfflineAudioContext(1, 1, RATE);
    this.buffers = [];
    const buffers = await Promise.all(sounds.map(({ buffer }) => reader.decodeAudioData(buffer)));
    return buffers;
  }

  // `names` are stems, or one name that is no stem.
  load(track, names, buffers) {
    Object.assign(this, { track, names, buffers, ring: null, at: 0 });
  }

  // A take to be heard with the track until another track is chosen.
  lay(buffer) {
    const at = this.names.indexOf("take");
    if (at >= 0) this.buffers[at] = buffer;
    else { this.names = [...this.names, "take"]; this.buffers = [...this.buffers, buffer]; }
  }

  open() {
    if (this.context) return;
    this.context = new AudioContext({ sampleRate: RATE, latencyHint: LATENCY });
    if (navigator.audioSession) navigator.audioSession.type = "playback"; // not silenced by a ring switch
    this.context.addEventListener("statechange", () => {
      if (this.playing && this.context.state === "interrupted") this.events.interrupted();
    });
  }

  async play() {
    this.open();
    clearTimeout(this.resting);
    await this.context.resume();
    await this.moving();
    this.ear = new Ear(LATENCY);
    this.start(this.at);
    return true;
  }

  // A context that begins hands over several pieces at once: a frame asked for before that would be
  // reached late, and every join after it would be off by as much.
  async moving() {
    const begun = this.context.currentTime, until = performance.now() + 500;
    while (this.context.currentTime === begun && performance.now() < until) await new Promise((done) => setTimeout(done, 4));
  }

  // A frame that there is time enough to reach.
  soon(ahead = AHEAD) { return Math.ceil((this.context.currentTime + ahead) * RATE) / RATE; }

  // From a time of the track. `when` the context has reached it, if the sound goes on from there.
  start(t, when = null) {
    const { context } = this;
    const begin = when ?? this.soon();
    this.stop(begin);
    const { ring } = this, place = ring ? ring.place(t) : t;
    const gains = [], goesOn = when !== null;
    const sources = this.buffers.map((buffer, n) => {
      const source = new AudioBufferSourceNode(context, { buffer: ring ? ring.buffers[n] : buffer, loop: Boolean(ring) });
      const gain = new GainNode(context, { gain: 0 });
      gain.gain.setValueAtTime(0, begin);
      gain.gain.linearRampToValueAtTime(1, begin + (goesOn ? FADE : FADE / 4));
      source.connect(gain).connect(this.ways[n]);
      source.start(begin, Math.round(place * RATE) / RATE);
      gains.push(gain);
      return source;
    });
    sources[0].addEventListener("ended", () => { if (this.now?.sources === sources) this.end(); });
    this.now = { sources, gains, begin, place, ring, goesOn };
    this.playing = true;
  }

  // The way of each file to the ear: its loudness, and its side where guide and rest are apart.
  get ways() {
    const key = this.names.join();
    if (this.wayKey !== key) {
      this.wayKey = key;
      this.made = this.names.map((name) => {
        const gain = new GainNode(this.context, { gain: this.gain(name) });
        const side = DATA.split && STEMS.includes(name) ? new StereoPannerNode(this.context, { pan: name === "guide" ? -1 : 1 }) : null;
        (side ? gain.connect(side) : gain).connect(this.context.destination);
        return gain;
      });
    }
    return this.made;
  }

  gain(name) { return (this.balance[name] ?? 1) ** 2; } // the ear hears in ratios

  setBalance() {
    if (this.made) this.names.forEach((name, n) => this.made[n].gain.setTargetAtTime(this.gain(name), this.context.currentTime, 0.015));
  }

  stop(when) {
    const { now } = this;
    this.now = null;
    now?.gains.forEach(({ gain }) => {
      gain.cancelScheduledValues(when);
      gain.setValueAtTime(1, when);
      gain.linearRampToValueAtTime(0, when + FADE);
    });
    now?.sources.forEach((source) => source.stop(when + FADE));
  }

  pause() {
    if (!this.playing) return;
    this.at = this.time;
    this.playing = false;
    this.stop(this.soon());
    this.resting = setTimeout(() => this.kept || this.playing || this.context.suspend(), 1000);
  }

  end() {
    this.at = this.track.seconds;
    this.playing = false;
    this.now = null;
    this.events.ended();
  }

  seek(t) {
    this.at = t;
    if (this.playing) this.start(t);
  }

  // The bars to go round in, or none; what sounds goes on without a gap where it is one of them.
  setLoop(stretches) {
    const ring = stretches.length ? new Ring(onFrames(stretches)) : null;
    if (ring) ring.buffers = this.buffers.map((buffer) => around(buffer, ring));
    this.ring = ring;
    if (!this.playing) return;
    const when = this.soon(JOIN_AHEAD);
    this.start(this.placed(when), when);
  }

  // The time of the track that the context's clock has come to.
  placed(clock) {
    if (!this.now) return this.at;
    const { begin, place, ring, goesOn } = this.now;
    const gone = goesOn ? clock - begin : Math.max(0, clock - begin);
    return ring ? ring.time(place + gone) : Math.min(this.track.seconds, Math.max(0, place + gone));
  }

  // What is heard now: the clock is ahead of the ear by the way to the loudspeaker.
  get time() {
    if (!this.playing) return this.at;
    const clock = this.context.currentTime;
    return this.placed(Math.min(clock, Math.max(clock - 0.5, this.ear.heard(this.context))));
  }
}

const onFrames = (stretches) => stretches.map(({ from, to }) => ({ from: Math.round(from * RATE) / RATE, to: Math.round(to * RATE) / RATE }));

// The ring's stretches in one buffer. At the end of each the sound fades into what came before the
// next, so that a drone does not jump; nothing begins in that time that belongs to the next.
function around(buffer, ring) {
  const frames = (seconds) => Math.round(seconds * RATE);
  const out = new AudioBuffer({ length: frames(ring.seconds), numberOfChannels: buffer.numberOfChannels, sampleRate: RATE });
  const fade = frames(FADE);
  for (let channel = 0; channel < buffer.numberOfChannels; channel += 1) {
    const from = buffer.getChannelData(channel), to = out.getChannelData(channel);
    ring.stretches.forEach((stretch, n) => {
      const next = ring.stretches[(n + 1) % ring.stretches.length];
      const start = frames(stretch.from), length = frames(stretch.to) - start, at = frames(stretch.at);
      to.set(from.subarray(start, start + length), at);
      for (let k = 1; k <= Math.min(fade, length, frames(next.from)); k += 1) {
        const share = k / (fade + 1); // of this stretch
        to[at + length - k] = share * to[at + length - k] + (1 - share) * from[frames(next.from) - k];
      }
    });
  }
  return out;
}
