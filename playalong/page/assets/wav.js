// The head of a WAV file of one channel: "RIFF" form, format chunk and the data chunk's start.
function wavHead(frames, rate, bytes) {
  const view = new DataView(new ArrayBuffer(44));
  const text = (at, letters) => [...letters].forEach((letter, n) => view.setUint8(at + n, letter.charCodeAt(0)));
  const number = (at, value, size) => (size === 2 ? view.setUint16(at, value, true) : view.setUint32(at, value, true));
  text(0, "RIFF"); number(4, 36 + frames * bytes, 4); text(8, "WAVEfmt ");
  number(16, 16, 4); number(20, 1, 2); number(22, 1, 2); number(24, rate, 4);
  number(28, rate * bytes, 4); number(32, bytes, 2); number(34, 8 * bytes, 2);
  text(36, "data"); number(40, frames * bytes, 4);
  return view.buffer;
}

// Samples within ±1 as a file of 16 bits.
function wavFile(samples, rate) {
  const whole = Int16Array.from(samples, (value) => Math.round(Math.max(-1, Math.min(1, value)) * 32767));
  return new Blob([wavHead(samples.length, rate, 2), whole], { type: "audio/wav" });
}
