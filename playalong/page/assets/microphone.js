// The microphone, frame by frame on the clock that the track plays on. Nothing leaves this machine.
const BLOCK = 128; // frames, what a worklet is given
const LOUDEST = 0.985; // of full scale: above it a recording is cut off

// What runs beside the page's own script; a page opened from a folder may load it from `data:` only.
const TAKER = `registerProcessor("taker", class extends AudioWorkletProcessor {
  process([input]) { this.port.postMessage([currentFrame, input[0] ? input[0].slice() : null]); return true; }
});`;

class Microphone {
  constructor() { Object.assign(this, { blocks: null, peak: 0, cut: 0 }); }

  // As it sounds: nothing may be taken out or made louder.
  async open(context) {
    const plain = { echoCancellation: false, noiseSuppression: false, autoGainControl: false, channelCount: 1 };
    if (!navigator.mediaDevices || !context.audioWorklet) throw new DOMException("", "NotSupportedError");
    this.stream = await navigator.mediaDevices.getUserMedia({ audio: plain });
    await context.audioWorklet.addModule(`data:text/javascript;base64,${btoa(TAKER)}`);
    this.rate = context.sampleRate;
    this.node = new AudioWorkletNode(context, "taker", { numberOfOutputs: 0 });
    this.node.port.onmessage = ({ data: [frame, block] }) => this.take(frame, block);
    this.source = context.createMediaStreamSource(this.stream);
    this.source.connect(this.node);
    const { echoCancellation, noiseSuppression, autoGainControl } = this.stream.getAudioTracks()[0].getSettings();
    this.changed = Boolean(echoCancellation || noiseSuppression || autoGainControl);
  }

  take(frame, block) {
    const loud = block ? block.reduce((most, value) => Math.max(most, Math.abs(value)), 0) : 0;
    this.peak = Math.max(this.peak, loud);
    if (!this.blocks) return;
    if (loud > LOUDEST) this.cut += 1;
    if (block) this.blocks.push([frame, block]);
  }

  begin() { this.blocks = []; this.cut = 0; }

  // The recording with its first frame on the context's clock; where blocks were lost it is silent,
  // so that what follows stays in time.
  end() {
    const { blocks, cut, rate } = this;
    this.blocks = null;
    if (!blocks?.length) return null;
    const first = blocks[0][0], samples = new Float32Array(blocks[blocks.length - 1][0] + BLOCK - first);
    blocks.forEach(([frame, block]) => samples.set(block, frame - first));
    return { first, rate, samples, cut, lost: samples.length / BLOCK - blocks.length };
  }

  close() {
    this.stream?.getTracks().forEach((track) => track.stop());
    this.source?.disconnect();
    Object.assign(this, { stream: null, source: null, blocks: null });
  }
}

// How much later than it was sent a sound comes back, in frames: the place of the sharp start of
// the track's first click in the recording. Null where it did not leak into the microphone.
function roundTrip(sent, recorded, most) {
  const sharp = (samples) => samples.map((value, n) => value - 2 * (samples[n - 1] ?? 0) + (samples[n - 2] ?? 0));
  const needle = sharp(sent), hay = sharp(recorded.subarray(0, most + sent.length));
  const fits = Array.from({ length: Math.max(0, hay.length - needle.length) }, (_, lag) => {
    let sum = 0;
    for (let n = 0; n < needle.length; n += 1) sum += needle[n] * hay[lag + n];
    return Math.abs(sum);
  });
  const best = fits.indexOf(Math.max(...fits));
  const usual = [...fits].sort((a, b) => a - b)[fits.length >> 1];
  return best >= 0 && fits[best] > 12 * usual ? best : null;
}
