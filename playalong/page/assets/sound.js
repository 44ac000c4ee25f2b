// The sound of the chosen track: as samples where it can be, else as the browser plays the file.
const STEMS = ["guide", "drone", "click"];

class Sound {
  constructor(element, events) {
    this.events = events;
    this.decoded = new Decoded(events);
    this.streamed = new Streamed(element, events);
    this.balance = this.decoded.balance = { guide: 1, drone: 1, click: 1 };
    this.stretches = [];
    this.at = 0;
  }

  get playing() { return Boolean(this.voice) && this.voice.playing; }
  get adjustable() { return this.voice === this.decoded && this.decoded.names.length > 1; }
  get time() { return this.voice ? this.voice.time : this.at; }

  // Ready once `loaded` is done; until then it remembers where to begin.
  load(track, at) {
    this.pause();
    Object.assign(this, { track, at, voice: null });
    this.loaded = this.find(track).then(async ([voice, names, buffers]) => {
      if (track !== this.track) return;
      await voice.load(track, names, buffers);
      this.voice = voice;
      voice.setLoop(this.stretches);
      voice.seek(this.at);
      this.events.loaded();
    });
  }

  async find(track) {
    const stems = Object.keys(track.stems || {}).length ? STEMS : null;
    const files = stems ? stems.map((name) => track.stems[name]) : [track.audio];
    if (!track.parts && track.seconds * files.length <= HELD_SECONDS) {
      try {
        const sounds = await Promise.all(files.map(bytesOf));
        if (track === this.track && sounds.every(Boolean)) {
          return [this.decoded, stems || ["track"], await this.decoded.read(sounds)];
        }
      } catch { /* what cannot be read as samples may still be played */ }
    }
    return [this.streamed];
  }

  async play() {
    const { track } = this;
    await this.loaded;
    return track === this.track && this.voice.play();
  }

  pause() { this.at = this.time; if (this.playing) this.voice.pause(); }

  seek(t) {
    this.at = Math.max(0, Math.min(t, this.track.seconds - 0.01));
    this.voice?.seek(this.at);
  }

  setLoop(stretches) {
    this.stretches = stretches;
    this.voice?.setLoop(stretches);
  }

  setBalance(name, value) {
    this.balance[name] = value;
    this.voice?.setBalance();
  }

  tick() { if (this.voice === this.streamed) this.streamed.tick(); }
}
