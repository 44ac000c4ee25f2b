"""What a page sends to the loudspeaker, sample by sample."""

from __future__ import annotations

import base64
import time
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
  let first = -1;
  window.heardSeconds = () => {
    if (first < 0) first = blocks.findIndex(([, block]) => block.some((x) => Math.abs(x) > 0.001));
    return first < 0 ? 0 : (128 * (blocks.length - first)) / 44100;
  };
  const asked = window.heardAsked = [];
  for (const name of ["start", "stop"]) {
    const plain = AudioBufferSourceNode.prototype[name];
    AudioBufferSourceNode.prototype[name] = function (when, ...more) {
      asked.push([Math.round(when * this.context.sampleRate), Date.now(), name]);
      return plain.call(this, when, ...more);
    };
  }
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
LATE = """
() => {
  const reached = new Map(window.heardBlocks.map(([frame, , at]) => [frame, at]));
  const [[first], last] = [window.heardBlocks[0], window.heardBlocks.at(-1)[0]];
  return window.heardAsked.some(([asked, at]) => {
    const frame = asked - (asked % 128);
    return frame < first || (frame <= last && reached.get(frame) <= at + 20);
  });
}
"""


def asked_late(page: Any) -> bool:
    """Whether a sound was to begin or end at a frame that was already made, within 20 ms. On a busy
    machine the sound card makes up for what it was late with, and the page's lead is used up, which
    is 93 ms and more beside five tasks that take all that they get."""
    return bool(page.evaluate(LATE))


def starts(page: Any) -> list[int]:
    """The frames at which something was to begin, each once, in the order asked."""
    asked = page.evaluate("heardAsked.filter(([, , name]) => name === 'start')")
    return list(dict.fromkeys(frame for frame, *_ in asked))


def hear(page: Any, seconds: float) -> None:
    """Wait until so much was heard since the first sound: a busy machine may begin it late."""
    end = time.monotonic() + 10 + 4 * seconds
    while page.evaluate("heardSeconds()") < seconds:
        assert time.monotonic() < end, f"not {seconds} s of sound"
        page.wait_for_timeout(20)


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
