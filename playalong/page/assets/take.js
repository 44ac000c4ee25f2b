// Recording oneself with the track: heard before it begins, listened back to, saved on this machine.
const REFUSED = {
  NotAllowedError: "The microphone was not allowed. Allow it in the browser's settings for this page, then try again.",
  NotFoundError: "No microphone was found. Plug one in, then try again.",
  OverconstrainedError: "No microphone was found. Plug one in, then try again.",
  TimeoutError: "The sound of this machine does not begin. Look whether it has loudspeakers or headphones, then try again.",
  NotSupportedError: "This browser lets no page record. Record with another program, and drop the file here.",
};
const WAITING = "Waiting for the microphone: allow it where the browser asks.";
const READY = "Play a loud note: the bar should stay below the end.";
const CHANGED = "This device changes the sound of its microphone by itself: levels tell little, pitch holds.";
const SOFTER = "Step back, or turn the microphone down.";
const START_MS = 8000; // after which sound that has not begun will not
const LOUD_MS = 3000; // how long it stays told
const LONGEST_TRIP = 0.4; // seconds between a sound's being sent and its coming back
const CLICK = 0.03; // seconds of the first click, by which a take is laid against the track

class Take {
  constructor(app) {
    this.app = app;
    this.microphone = new Microphone();
    byId("microphone").addEventListener("click", () => (this.microphone.stream ? this.close() : this.open()));
    byId("record").addEventListener("click", () => (this.microphone.blocks ? this.app.pause() : this.begin()));
    byId("listen").addEventListener("click", () => this.listen());
    byId("recorded").addEventListener("change", ({ target }) => target.files[0] && this.convert(target.files[0]));
    addEventListener("dragover", (event) => event.preventDefault());
    addEventListener("drop", (event) => {
      event.preventDefault();
      if (event.dataTransfer.files[0]) this.convert(event.dataTransfer.files[0]);
    });
  }

  async open() {
    if (this.opening) return;
    const { decoded } = this.app.sound;
    this.opening = true;
    this.tell(WAITING);
    try {
      decoded.open();
      await Promise.race([decoded.context.resume(), this.tooLate()]);
      await this.microphone.open(decoded.context);
    } catch (error) {
      this.microphone.close();
      this.tell(REFUSED[error.name] || `The microphone does not answer (${error.name}). Record with another program, and drop the file here.`);
      return;
    } finally {
      this.opening = false;
    }
    decoded.kept = true;
    this.after = false;
    this.ready = this.microphone.changed ? CHANGED : READY;
    this.tell(this.ready);
    this.showOpen(true);
    this.watching = setInterval(() => this.showLevel(), 100);
  }

  // A browser without a sound card begins no sound, and says nothing of it.
  tooLate() { return new Promise((_, fail) => setTimeout(() => fail(new DOMException("", "TimeoutError")), START_MS)); }

  close() {
    clearInterval(this.watching);
    this.app.sound.decoded.kept = false;
    this.microphone.close();
    this.showOpen(false);
    if (!this.after) this.tell("");
  }

  showOpen(open) {
    byId("microphone").setAttribute("aria-pressed", String(open));
    for (const name of ["level", "record"]) byId(name).hidden = !open;
  }

  showLevel() {
    const { peak } = this.microphone;
    this.microphone.peak = 0;
    byId("level").value = Math.max(-60, 20 * Math.log10(peak || 1e-3));
    if (this.after) return; // what is told of a recording stays
    const { blocks } = this.microphone, now = performance.now();
    if (peak > LOUDEST) {
      this.loudAt = now;
      this.tell(`Too loud: ${blocks ? "it is cut off there" : "a recording would be cut off"}. ${SOFTER}`);
    } else if (now - this.loudAt > LOUD_MS) {
      this.loudAt = NaN;
      this.tell(blocks ? "Recording." : this.ready);
    }
  }

  async begin() {
    this.app.setLoop(null);
    this.app.moveTo(0);
    this.name = this.fileName("take");
    this.after = false;
    this.microphone.begin();
    byId("record").textContent = "Stop recording";
    this.tell("Recording.");
    await this.app.play();
    this.track = this.app.choice.track;
    this.start = this.app.sound.decoded.now && { ...this.app.sound.decoded.now };
  }

  // The track has stopped; the last sound is still on its way through the air.
  stopped() {
    if (!this.microphone.blocks || this.ending) return;
    this.ending = setTimeout(() => {
      this.ending = null;
      byId("record").textContent = "Record with the track";
      this.made(this.microphone.end());
    }, 1000 * LONGEST_TRIP);
  }

  made(taken) {
    this.after = true;
    if (!taken) { this.tell("Nothing was recorded."); return; }
    this.taken = taken;
    const { samples, rate, cut, lost } = taken;
    this.offer(samples, rate, this.name);
    this.chosen();
    const faults = [
      cut && `It was too loud in places and is cut off there. ${SOFTER}`,
      lost && `The computer was busy: ${Math.round((1000 * lost * BLOCK) / rate)} ms are missing and are silent; the rest is in time.`,
    ].filter(Boolean);
    this.tell([`Recorded ${clockText(samples.length / rate)}.`, ...faults].join(" "));
  }

  // A take is listened back to beside its own track.
  chosen() { byId("listen").hidden = !this.taken || !this.start || this.track !== this.app.choice.track; }

  offer(samples, rate, name) {
    URL.revokeObjectURL(byId("save").href);
    Object.assign(byId("save"), { href: URL.createObjectURL(wavFile(samples, rate)), download: name, hidden: false });
  }

  // The track's name is in it, by which the recording finds its track again.
  fileName(what) {
    const track = this.app.choice.track.audio.replace(/\.\w+$/, "").replaceAll("/", "-");
    const two = (value) => String(value).padStart(2, "0"), now = new Date();
    const day = [now.getFullYear(), two(now.getMonth() + 1), two(now.getDate())].join("-");
    return `${track} ${what} ${day} ${two(now.getHours())}.${two(now.getMinutes())}.${two(now.getSeconds())}.wav`;
  }

  // The take beside the track as one more stem, laid by the first click where it leaked, else by
  // what the browser says of its own delay.
  listen() {
    const { decoded } = this.app.sound, { context } = decoded, { first, rate, samples } = this.taken;
    const begin = Math.round(this.start.begin * rate) - first; // the track's start in the recording
    const click = Math.round(this.app.pieces[0].beats[0].from * rate);
    const sent = new Float32Array(Math.round(CLICK * rate));
    decoded.buffers.forEach((buffer) => buffer.getChannelData(0).subarray(click, click + sent.length).forEach((value, n) => { sent[n] += value; }));
    const leaked = roundTrip(sent, samples.subarray(Math.max(0, begin + click)), Math.round(LONGEST_TRIP * rate));
    const late = leaked ?? Math.round(((context.outputLatency || 0) + (context.baseLatency || 0)) * rate);
    const laid = new AudioBuffer({ length: Math.round(this.track.seconds * rate), numberOfChannels: 1, sampleRate: rate });
    laid.copyToChannel(samples.subarray(Math.max(0, begin + late), Math.max(0, begin + late) + laid.length), 0);
    document.documentElement.dataset.late = leaked === null ? "unknown" : String(late);
    decoded.lay(laid);
    this.app.moveTo(0);
    this.app.play();
    this.tell(leaked === null
      ? "Your take and the track together; the track did not leak into it, so that it may lie a little late."
      : "Your take and the track together, laid by the track's first click.");
  }

  // A recording from elsewhere, as a phone gives it, becomes a WAV file.
  async convert(file) {
    try {
      const buffer = await new OfflineAudioContext(1, 1, RATE).decodeAudioData(await file.arrayBuffer());
      const samples = buffer.getChannelData(0).slice();
      for (let n = 1; n < buffer.numberOfChannels; n += 1) buffer.getChannelData(n).forEach((value, k) => { samples[k] += value; });
      this.offer(samples.map((value) => value / buffer.numberOfChannels), RATE, this.fileName(file.name.replace(/\.\w+$/, "")));
      this.after = true;
      this.taken = null;
      this.chosen();
      this.tell(`${file.name}: ${clockText(buffer.duration)}, ready to be saved as WAV for the track chosen above.`);
    } catch {
      this.tell(`This browser cannot read ${file.name} as sound. Try another browser, or save it as WAV with another program.`);
    }
  }

  tell(text) { if (byId("take-words").textContent !== text) byId("take-words").textContent = text; }
}
