"""The page records: from the microphone to a file on the disk, and nothing leaves the machine."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
import soundfile
from browser import PLAYED_HZ

from playalong.page.html import ASSETS


def pitch_hz(sound, rate_hz):
    """Of the strongest partial: the peak of a long Hann window's spectrum, by its neighbours."""
    spectrum = np.log(np.abs(np.fft.rfft(sound * np.hanning(len(sound)))) + 1e-12)
    peak = int(np.argmax(spectrum))
    left, middle, right = spectrum[peak - 1 : peak + 2]
    return (peak + 0.5 * (left - right) / (left - 2 * middle + right)) * rate_hz / len(sound)


def saved(page, tmp_path):
    with page.page.expect_download() as download:
        page.page.click("#save")
    path = Path(tmp_path) / download.value.suggested_filename
    download.value.save_as(path)
    return path


def test_a_take_is_recorded_saved_and_listened_back_to_in_tune(opened, tmp_path):
    """Within 3 cents, with the track's name in the file's, and only to the page's own folder."""
    page = opened()
    page.page.click("#microphone")
    page.until("document.getElementById('level').value > -20")
    page.page.click("#record")
    page.until("Number(document.getElementById('way').value) > 2")
    page.page.click("#record")
    page.until("!document.getElementById('save').hidden")
    words = page.page.inner_text("#take-words")
    assert re.match(r"Recorded 0:0\d\.", words)
    path = saved(page, tmp_path)
    assert re.fullmatch(r"F-major-D-01-160-listen take 20[\d-]+ [\d.]+\.wav", path.name)
    sound, rate_hz = soundfile.read(path)
    assert len(sound) > 2 * rate_hz
    middle = sound[rate_hz // 2 : rate_hz // 2 + rate_hz]
    assert 1200 * abs(np.log2(pitch_hz(middle, rate_hz) / PLAYED_HZ)) < 3
    page.page.click("#listen")
    page.until("document.documentElement.matches('.playing')")
    assert "Your take and the track together" in page.page.inner_text("#take-words")
    page.page.click("#play")
    page.page.click("#microphone")
    assert page.page.is_hidden("#record")


LOUDER = """
  window.times = 1;
  const Plain = AudioWorkletNode;
  AudioWorkletNode = class extends Plain {
    constructor(...words) {
      super(...words);
      this.port.addEventListener("message", ({ data: [, block] }) =>
        block?.forEach((value, n) => { block[n] = window.times * value; }));
    }
  };
"""


def test_too_loud_is_told_before_and_while_and_of_the_take_and_then_stays_told(opened):
    """A take is listened back to beside its own track only."""
    page = opened()
    page.page.add_init_script(LOUDER)
    page.open()
    told = "document.getElementById('take-words').textContent"
    page.page.click("#microphone")
    page.until(f"{told}.startsWith('Play a loud note')")
    page.page.evaluate("window.times = 1000")
    page.until(f"{told}.startsWith('Too loud: a recording would be cut off.')")
    page.page.click("#record")
    page.until(f"{told}.startsWith('Too loud: it is cut off there.')")
    page.until("Number(document.getElementById('way').value) > 0.5")
    page.page.click("#record")
    page.until(f"{told}.startsWith('Recorded 0:0')")
    page.page.wait_for_timeout(300)  # the level is shown all the while
    words = page.page.inner_text("#take-words")
    assert "It was too loud in places and is cut off there. Step back" in words
    page.page.click("#microphone")
    assert page.page.inner_text("#take-words") == words
    assert page.page.is_visible("#listen")
    page.choose(stage="answer")
    assert page.page.is_hidden("#listen")
    page.choose(stage="listen")
    assert page.page.is_visible("#listen")


def test_a_recording_from_elsewhere_is_saved_as_wav_for_the_chosen_track(opened, tmp_path):
    turn = 2 * np.pi * 440 * np.arange(48_000) / 48_000
    soundfile.write(tmp_path / "memo 7.ogg", 0.3 * np.sin(turn), 48_000)
    page = opened()
    page.choose(stage="answer")
    page.page.set_input_files("#recorded", tmp_path / "memo 7.ogg")
    page.until("!document.getElementById('save').hidden")
    path = saved(page, tmp_path)
    assert path.name.startswith("F-major-D-02-160-answer memo 7 20")
    sound, rate_hz = soundfile.read(path)
    assert 1200 * abs(np.log2(pitch_hz(sound[4000:-4000], rate_hz) / 440)) < 1
    (tmp_path / "no.wav").write_bytes(b"no sound")
    page.page.set_input_files("#recorded", tmp_path / "no.wav")
    page.until("document.getElementById('take-words').textContent.includes('cannot read no.wav')")


@pytest.mark.parametrize("name", ["memo.m4a", "memo.webm"])
def test_what_a_phone_records_becomes_wav_for_the_chosen_track(opened, tmp_path, name):
    """AAC and Opus by ffmpeg 5.1, a second of A: `ffmpeg -f lavfi -i sine=440:r=48000:d=1 -b:a 24k`
    and the name of the file."""
    page = opened()
    page.choose(stage="check")
    page.page.set_input_files("#recorded", Path(__file__).parent / "phone" / name)
    page.until("!document.getElementById('save').hidden")
    path = saved(page, tmp_path)
    assert path.name.startswith("F-major-D-03-160-check memo 20")
    assert path.suffix == ".wav"
    sound, rate_hz = soundfile.read(path)
    assert len(sound) / rate_hz == pytest.approx(1, abs=0.1)
    assert 1200 * abs(np.log2(pitch_hz(sound[8000:-8000], rate_hz) / 440)) < 1


@pytest.mark.parametrize(
    ("error", "said"),
    [
        ("NotAllowedError", "The microphone was not allowed."),
        ("NotFoundError", "No microphone was found."),
        ("AbortError", "The microphone does not answer (AbortError)."),
        (None, "This browser lets no page record."),
    ],
)
def test_where_the_browser_cannot_record_it_says_so_and_what_to_do(opened, error, said):
    page = opened()
    devices = f"{{ getUserMedia: async () => {{ throw new DOMException('', '{error}'); }} }}"
    page.page.add_init_script(
        "Object.defineProperty(navigator, 'mediaDevices', "
        f"{{ value: {devices if error else 'undefined'} }})"
    )
    page.open()
    page.page.click("#microphone")
    page.until("document.getElementById('take-words').textContent")
    assert page.page.inner_text("#take-words").startswith(said)
    assert page.page.is_hidden("#record")


def test_where_no_sound_begins_nobody_waits_for_it(opened):
    page = opened()
    page.page.add_init_script(
        "AudioContext.prototype.resume = () => new Promise(() => {});"
        "const plain = setTimeout;"
        "setTimeout = (act, ms, ...more) => plain(act, Math.min(ms, 50), ...more);"
    )
    page.open()
    page.page.click("#microphone")
    page.until(
        "document.getElementById('take-words').textContent"
        ".startsWith('The sound of this machine does not begin.')"
    )
    assert page.page.is_hidden("#record")


def test_lost_blocks_stay_in_place_as_silence_and_a_leak_tells_the_way_round(browser):
    """Of ten blocks the fourth and fifth are lost; a click comes back 3,000 frames late, at a
    hundredth of its loudness under a tone that is ten times as loud."""
    page = browser.new_page()
    script = (ASSETS / "microphone.js").read_text()
    found = page.evaluate(
        f"""() => {{
          {script}
          const microphone = Object.assign(new Microphone(), {{ rate: 44100 }});
          microphone.begin();
          for (const n of [0, 1, 2, 5, 6, 7, 8, 9]) {{
            microphone.take(1280 + 128 * n, new Float32Array(128).fill((n + 1) / 100));
          }}
          const taken = microphone.end();
          const kept = Array.from({{ length: 10 }}, (_, n) => taken.samples[128 * n]);
          const turns = (n) => (1000 * n + 4e3 * n * n / 882) / 44100;
          const sent = Float32Array.from({{ length: 882 }},
            (_, n) => Math.sin(2 * Math.PI * turns(n)));
          const sound = Float32Array.from({{ length: 20000 }}, (_, n) => 0.1 * Math.sin(n / 15));
          const silent = roundTrip(sent, sound, 17640);
          sent.forEach((value, n) => {{ sound[3000 + n] += 0.01 * value; }});
          const trip = roundTrip(sent, sound, 17640);
          return [taken.first, taken.lost, kept, trip, silent];
        }}"""
    )
    page.close()
    first, lost, kept, trip, silent = found
    assert (first, lost) == (1280, 2)
    assert kept == pytest.approx([0.01, 0.02, 0.03, 0, 0, 0.06, 0.07, 0.08, 0.09, 0.1])
    assert (trip, silent) == (3000, None)
