"""What a page sends to the loudspeaker, sample by sample."""

from __future__ import annotations

import base64
from typing import Any

import numpy as np
from numpy.typing import NDArray

TAP = """
registerProcessor("tap", class extends AudioWorkletProcessor {
  process([input]) {
    if (input[0]) this.port.postMessage([currentFrame, input[0].slice(), Date.now()]);
    return true;
  }
});
"""
MODULE = f"data:text/javascript;base64,{base64.b64encode(TAP.encode()).decode()}"
LISTEN = """
(() => {
  const blocks = window.heardBlocks = [];
  const Plain = window.AudioContext, connect = AudioNode.prototype.connect;
  window.AudioContext = class extends Plain {
    constructor(...options) {
      super(...options);
      this.bus = new GainNode(this, { channelCount: 1, channelCountMode: "explicit" });
      this.tapped = this.audioWorklet.addModule("MODULE").then(() => {
        const tap = new AudioWorkletNode(this, "tap", { numberOfOutputs: 0 });
        tap.port.onmessage = ({ data }) => blocks.push(data);
        connect.call(this.bus, tap);
      });
    }
    async resume() { await this.tapped; return super.resume(); }
  };
  AudioNode.prototype.connect = function (target, ...more) {
    const { destination, bus } = this.context;
    if (target === destination && bus) connect.call(this, bus);
    return connect.call(this, target, ...more);
  };
})();
""".replace("MODULE", MODULE)
COLLECT = """
() => {
  const blocks = window.heardBlocks, joined = new Float32Array(128 * blocks.length);
  blocks.forEach(([, block], n) => joined.set(block, 128 * n));
  const bytes = new Uint8Array(joined.buffer), pieces = [];
  for (let n = 0; n < bytes.length; n += 8192) {
    pieces.push(String.fromCharCode(...bytes.subarray(n, n + 8192)));
  }
  return [blocks.map(([frame]) => frame), btoa(pieces.join(""))];
}
"""


LEAP = """
() => {
  const blocks = window.heardBlocks;
  let first = 0, most = 0;
  for (const [frame, , at] of blocks) {
    while (at - blocks[first][2] > 20) first += 1;
    most = Math.max(most, frame - blocks[first][0]);
  }
  return most;
}
"""


def leap_frames(page: Any) -> int:
    """The most that was asked of the page within 20 ms. On a busy machine the sound card makes up
    for what it was late with, and what the page asks for in time comes after its moment."""
    return int(page.evaluate(LEAP))


def heard(page: Any) -> NDArray[np.float32]:
    """All that was heard since the first sound, shape (frames,), on the clock of the page."""
    frames, text = page.evaluate(COLLECT)
    blocks = np.frombuffer(base64.b64decode(text), np.float32).reshape(-1, 128)
    sound = np.zeros(((frames[-1] - frames[0]) // 128 + 1, 128), np.float32)
    sound[(np.array(frames) - frames[0]) // 128] = blocks
    return sound.reshape(-1)


def place_of(needle: NDArray[np.float32], hay: NDArray[np.float32]) -> int:
    """The frame at which `needle` fits best into `hay`."""
    size = len(needle) + len(hay)
    spectrum = np.fft.rfft(hay, size) * np.conj(np.fft.rfft(needle, size))
    fits: NDArray[np.float64] = np.fft.irfft(spectrum, size)[: len(hay) - len(needle) + 1]
    return int(np.argmax(fits))
