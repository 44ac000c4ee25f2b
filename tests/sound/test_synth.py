"""The renderer against the MIDI standard, on a bank that is one sine and so adds nothing."""

from __future__ import annotations

import math
import resource
import sys
import tracemalloc
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from fractions import Fraction
from pathlib import Path

import mido
import numpy as np
import numpy.typing as npt
import pytest
from sinebank import PEAK, ROOT_KEY, sine_bank_bytes, write_sine_bank

from playalong.errors import PlayalongError
from playalong.performance.clock import BLOCK_FRAMES, SAMPLE_RATE_HZ
from playalong.sound import fluid as fluid_module
from playalong.sound.fluid import BankError, fluid
from playalong.sound.synth import render

Message = mido.Message
Sound = npt.NDArray[np.float32]
TICKS = 689  # a quarter; with TEMPO a tick is a block to within a millionth
TEMPO = round(TICKS * BLOCK_FRAMES * 1_000_000 / SAMPLE_RATE_HZ)
GUIDE = frozenset({0})


@pytest.fixture(scope="module")
def bank(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_sine_bank(tmp_path_factory.mktemp("bank") / "sine.sf2")


def bend_range(channel: int = 0, semitones: int = 12) -> list[tuple[int, mido.Message]]:
    """RPN 0 in full (MIDI 1.0 detailed specification, registered parameters)."""
    rows = ((101, 0), (100, 0), (6, semitones), (38, 0))
    return [(0, Message("control_change", channel=channel, control=c, value=v)) for c, v in rows]


def note(block: int, key: int = ROOT_KEY, channel: int = 0) -> tuple[int, mido.Message]:
    return block, Message("note_on", channel=channel, note=key, velocity=100)


def bend(block: int, value: int, channel: int = 0) -> tuple[int, mido.Message]:
    """`value` from 0 to 16383, as the standard counts."""
    return block, Message("pitchwheel", channel=channel, pitch=value - 8192)


def song(events: Iterable[tuple[int, mido.Message]]) -> mido.MidiFile:
    track = mido.MidiTrack([mido.MetaMessage("set_tempo", tempo=TEMPO)])
    last = 0
    for block, message in events:
        track.append(message.copy(time=block - last))
        last = block
    return mido.MidiFile(type=1, ticks_per_beat=TICKS, tracks=[track])


def sound_of(
    events: Iterable[tuple[int, mido.Message]],
    bank: Path,
    blocks: int,
    channels: frozenset[int] = GUIDE,
) -> Sound:
    return np.concatenate(list(render(song(events), bank, channels, blocks)))


def cents_off(sound: Sound, expected_hz: float, span_seconds: float = 1.0) -> float:
    """Mean deviation from `expected_hz`, from the turn of phase between two windows."""
    window = np.hanning(8192)
    apart = round(span_seconds * SAMPLE_RATE_HZ)
    start = 4096
    at = np.arange(len(window))
    phases = [
        np.sum(
            sound[first : first + len(window)]
            * window
            * np.exp(-2j * np.pi * expected_hz * (first + at) / SAMPLE_RATE_HZ)
        )
        for first in (start, start + apart)
    ]
    turns = np.angle(phases[1] / phases[0]) / (2 * np.pi)  # unambiguous within half a hertz
    return float(1200 * math.log2(1 + turns / span_seconds / expected_hz))


def standard_hz(key: int, bend_value: int, semitones: int = 12) -> float:
    cents = (bend_value - 8192) * 100 * semitones / 8192
    return float(440 * 2 ** ((key - 69) / 12 + cents / 1200))


class TestHeldPitch:
    BENDS = (0, 1, 683, 4000, 7509, 8188, 8191, 8192, 8193, 8195, 8196, 8875, 12971, 16382, 16383)

    @pytest.mark.parametrize("value", BENDS)
    def test_within_a_tenth_of_a_cent_of_the_standard(self, bank: Path, value: int) -> None:
        sound = sound_of([*bend_range(), bend(0, value), note(0)], bank, 900)
        assert abs(cents_off(sound, standard_hz(ROOT_KEY, value))) < 0.1

    def test_within_a_tenth_of_a_cent_for_random_keys_and_bends(self, bank: Path) -> None:
        random = np.random.default_rng(7)
        for key, value in random.integers((48, 0), (88, 16384), (40, 2)).tolist():
            sound = sound_of([*bend_range(), bend(0, value), note(0, key)], bank, 900)
            assert abs(cents_off(sound, standard_hz(key, value))) < 0.1, (key, value)

    @pytest.mark.parametrize("semitones", [1, 2, 7, 24, 48])
    def test_true_at_any_bend_range(self, bank: Path, semitones: int) -> None:
        sound = sound_of([*bend_range(0, semitones), bend(0, 9001), note(0)], bank, 900)
        assert abs(cents_off(sound, standard_hz(ROOT_KEY, 9001, semitones))) < 0.1

    def test_the_bend_range_is_two_semitones_until_rpn_0_sets_it(self, bank: Path) -> None:
        sound = sound_of([bend(0, 16383), note(0)], bank, 900)
        assert abs(cents_off(sound, standard_hz(ROOT_KEY, 16383, 2))) < 0.1

    def test_another_rpn_leaves_the_bend_range_alone(self, bank: Path) -> None:
        tuning = [
            (0, Message("control_change", control=control, value=value))
            for control, value in ((101, 0), (100, 1), (6, 99), (101, 127), (100, 127), (6, 3))
        ]
        sound = sound_of([*bend_range(), *tuning, bend(0, 10000), note(0)], bank, 900)
        assert abs(cents_off(sound, standard_hz(ROOT_KEY, 10000))) < 0.1

    def test_true_in_a_bank_whose_sample_needs_correction(self, tmp_path: Path) -> None:
        # 37 cents written into the sample header, so base pitch is no whole semitone.
        other = write_sine_bank(tmp_path / "off.sf2", pitch_correction=-37)
        sound = sound_of([*bend_range(), bend(0, 8300), note(0)], other, 900)
        expected_hz = standard_hz(ROOT_KEY, 8300) * 2 ** (-37 / 1200)
        assert abs(cents_off(sound, expected_hz)) < 0.1

    def test_true_whatever_the_rest_of_the_bend_did_before(self, bank: Path) -> None:
        wander = [bend(block, 8192 + 37 * block) for block in range(1, 100)]
        sound = sound_of([*bend_range(), note(0), *wander, bend(100, 8201)], bank, 1100)
        assert abs(cents_off(sound[100 * BLOCK_FRAMES :], standard_hz(ROOT_KEY, 8201))) < 0.1


def test_a_slide_follows_the_commanded_curve_within_half_a_cent(bank: Path) -> None:
    # Minimum jerk (Flash and Hogan 1985) through seven semitones in 200 ms, a bend each block.
    blocks, start = 138, 200
    at = (np.arange(blocks) + 0.5) / blocks
    cents = 700 * (10 * at**3 - 15 * at**4 + 6 * at**5)
    values = 8192 + np.round(cents * 8192 / 1200).astype(int)
    slide = [bend(start + block, int(value)) for block, value in enumerate(values)]
    sound = sound_of([*bend_range(), note(0, 81), *slide], bank, 500)

    of_block = np.full(500, 8192)
    of_block[start : start + blocks] = values
    of_block[start + blocks :] = values[-1]
    hz = np.repeat([standard_hz(81, int(value)) for value in of_block], BLOCK_FRAMES)
    phase = 2 * np.pi * (np.cumsum(hz) - hz) / SAMPLE_RATE_HZ  # what came before each frame
    window, hop = np.hanning(441), 110  # 10 ms and 2.5 ms
    turned = np.lib.stride_tricks.sliding_window_view(sound * np.exp(-1j * phase), 441)[::hop]
    left = np.angle((turned @ window)[1:] / (turned @ window)[:-1]) / (2 * np.pi)
    off_hz = left * SAMPLE_RATE_HZ / hop
    off_cents = 1200 * np.log2(1 + off_hz / hz[220 : 220 + hop * len(off_hz) : hop])
    during = slice(start * BLOCK_FRAMES // hop, (start + blocks) * BLOCK_FRAMES // hop)
    assert np.abs(off_cents[during]).max() < 0.5


@pytest.mark.parametrize("other_key", [ROOT_KEY, ROOT_KEY - 3, ROOT_KEY + 6])
def test_a_unison_of_two_channels_does_not_beat(bank: Path, other_key: int) -> None:
    value = 8192 + 1023  # 149.85 cents
    apart = (ROOT_KEY - other_key) * 8192 // 12  # exact for quarters of an octave
    events = [
        *bend_range(0), *bend_range(1), bend(0, value, 0), bend(0, value + apart, 1),
        note(0, ROOT_KEY, 0), note(9, other_key, 1),
    ]  # fmt: skip
    sound = sound_of(events, bank, 2900, frozenset({0, 1}))
    four_seconds = sound[4410 : 4410 + 4 * SAMPLE_RATE_HZ].reshape(-1, 2205)  # 50 ms each
    db = 10 * np.log10(np.mean(np.square(four_seconds, dtype=np.float64), axis=1))
    assert np.ptp(db) < 0.5


def test_an_event_sounds_from_the_first_frame_of_its_block_on(bank: Path) -> None:
    for microseconds, tick in ((1_000_000, 961), (288_462, 12_345), (731_707, 4_807)):
        track = mido.MidiTrack(
            [
                mido.MetaMessage("set_tempo", tempo=microseconds),
                Message("note_on", note=ROOT_KEY + 7, velocity=100, time=tick),
            ]
        )
        seconds = Fraction(tick * microseconds, 960 * 1_000_000)
        block = round(seconds * SAMPLE_RATE_HZ / BLOCK_FRAMES)
        midi = mido.MidiFile(ticks_per_beat=960, tracks=[track])
        sound = np.concatenate(list(render(midi, bank, GUIDE, block + 10)))
        first = int(np.flatnonzero(sound)[0])
        assert block * BLOCK_FRAMES <= first <= block * BLOCK_FRAMES + 1  # a sine begins at 0


def test_a_file_without_a_tempo_plays_at_120(bank: Path) -> None:
    track = mido.MidiTrack([Message("note_on", note=ROOT_KEY, velocity=100, time=960)])
    midi = mido.MidiFile(ticks_per_beat=960, tracks=[track])
    sound = np.concatenate(list(render(midi, bank, GUIDE, 500)))
    assert np.flatnonzero(sound)[0] // BLOCK_FRAMES == round(0.5 * SAMPLE_RATE_HZ / BLOCK_FRAMES)


def test_chunks_add_up_to_the_blocks_asked_for(bank: Path) -> None:
    events = song([*bend_range(), bend(0, 8250), note(3)])
    chunks = list(render(events, bank, GUIDE, 250, chunk_blocks=100))
    assert [len(chunk) for chunk in chunks] == [6400, 6400, 3200]
    assert all(chunk.dtype == np.float32 and chunk.ndim == 1 for chunk in chunks)
    whole = next(render(events, bank, GUIDE, 250))
    np.testing.assert_array_equal(np.concatenate(chunks), whole)
    assert list(render(events, bank, GUIDE, 0)) == []


def test_only_the_channels_asked_for_sound(bank: Path) -> None:
    guide = [*bend_range(0), bend(0, 8400, 0), note(5, 69, 0)]
    drone = [*bend_range(3), bend(0, 9000, 3), note(5, 57, 3)]
    both = sorted(guide + drone, key=lambda event: event[0])
    np.testing.assert_array_equal(sound_of(both, bank, 300), sound_of(guide, bank, 300))
    assert not sound_of(both, bank, 300, frozenset({7})).any()


def test_percussion_takes_no_bend(bank: Path) -> None:
    clicks = frozenset({9})
    plain = sound_of([note(2, 76, 9)], bank, 100, clicks)
    bent = sound_of([*bend_range(9), bend(0, 16000, 9), note(2, 76, 9)], bank, 100, clicks)
    assert plain.any()
    np.testing.assert_array_equal(plain, bent)


def test_mono_keeps_the_level_of_a_centred_voice(bank: Path) -> None:
    """Half of what a voice panned hard to one side has there, times √2 for the centre's 3 dB."""

    def level(pan: int) -> float:
        events = [(0, Message("control_change", control=10, value=pan)), note(0)]
        return float(np.abs(sound_of(events, bank, 200)[4000:]).max())

    assert level(0) > 0.2 * PEAK / 32768
    assert 20 * math.log10(level(64) / (2 * level(0))) == pytest.approx(-3.01, abs=0.05)


def test_vibrato_is_not_handed_on(bank: Path) -> None:
    wheel = [(0, Message("control_change", control=1, value=127))]
    pressure = [(0, Message("aftertouch", value=127))]
    plain = sound_of([note(0)], bank, 300)
    np.testing.assert_array_equal(plain, sound_of([*wheel, *pressure, note(0)], bank, 300))


def test_it_plays_dry_whatever_the_file_sends_to_reverb_and_chorus(bank: Path) -> None:
    wet = [(0, Message("control_change", control=control, value=127)) for control in (91, 93)]
    end = (100, Message("note_off", note=ROOT_KEY))
    plain = sound_of([note(0), end], bank, 300)
    np.testing.assert_array_equal(plain, sound_of([*wet, note(0), end], bank, 300))


def test_volume_is_handed_on(bank: Path) -> None:
    quiet = [(0, Message("control_change", control=7, value=50)), note(0)]
    assert (
        np.abs(sound_of(quiet, bank, 100)).max()
        < 0.5 * np.abs(sound_of([note(0)], bank, 100)).max()
    )


class TestRepetition:
    PIECES = tuple(
        (*bend_range(), bend(0, 8192 + 41 * n), note(n, 60 + n), bend(300, 9000 + n), note(400, 72))
        for n in range(4)
    )

    def test_samples_do_not_depend_on_what_was_rendered_before(self, bank: Path) -> None:
        first = sound_of(self.PIECES[0], bank, 700)
        for piece in self.PIECES[1:]:
            sound_of(piece, bank, 700)
        np.testing.assert_array_equal(first, sound_of(self.PIECES[0], bank, 700))

    def test_threads_render_the_same_samples_side_by_side(self, bank: Path) -> None:
        alone = [sound_of(piece, bank, 700) for piece in self.PIECES]
        with ThreadPoolExecutor(4) as pool:
            together = list(pool.map(lambda piece: sound_of(piece, bank, 700), self.PIECES * 3))
        for one, other in zip(alone * 3, together, strict=True):
            np.testing.assert_array_equal(one, other)


def test_memory_does_not_grow_with_length(bank: Path) -> None:
    events = song([*bend_range(), bend(0, 8216), note(0)])  # a pitch that dithers throughout

    def peak_bytes(minutes: int) -> int:
        tracemalloc.start()
        for _ in render(events, bank, GUIDE, minutes * 41_344):
            pass
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        return peak

    def resident_bytes() -> int:
        unit = 1 if sys.platform == "darwin" else 1024
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * unit

    short, before = peak_bytes(1), resident_bytes()
    assert peak_bytes(6) - short < 100_000
    assert resident_bytes() - before < 4_000_000


class TestCleanUp:
    @pytest.fixture
    def deleted(self, monkeypatch: pytest.MonkeyPatch) -> list[int]:
        handles: list[int] = []
        lib = fluid()
        delete = lib.delete_fluid_synth
        monkeypatch.setattr(
            lib, "delete_fluid_synth", lambda synth: (handles.append(synth), delete(synth))
        )
        return handles

    def test_the_synth_goes_when_the_sound_ends(self, bank: Path, deleted: list[int]) -> None:
        list(render(song([note(0)]), bank, GUIDE, 100))
        assert len(deleted) == 1

    def test_the_synth_goes_when_nobody_listens_on(self, bank: Path, deleted: list[int]) -> None:
        chunks = render(song([note(0)]), bank, GUIDE, 100, chunk_blocks=10)
        next(chunks)
        chunks.close()  # type: ignore[attr-defined]
        assert len(deleted) == 1


class TestErrors:
    def test_a_change_of_tempo_is_refused(self, bank: Path) -> None:
        midi = song([note(0)])
        midi.tracks[0].append(mido.MetaMessage("set_tempo", tempo=400_000, time=480))
        with pytest.raises(PlayalongError, match=r"changes its tempo at tick 480"):
            render(midi, bank, GUIDE, 100)

    def test_a_bank_that_is_not_there_is_named_at_once(self, tmp_path: Path) -> None:
        with pytest.raises(BankError, match=r"nowhere\.sf2 cannot be found"):
            render(song([note(0)]), tmp_path / "nowhere.sf2", GUIDE, 100)

    def test_a_missing_library_tells_the_way_out(
        self, bank: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(fluid_module, "_fluid", None)
        monkeypatch.setitem(sys.modules, "fluidsynth", None)  # its import raises ImportError
        with pytest.raises(PlayalongError, match=r"apt install libfluidsynth3.*brew install fluid"):
            list(render(song([note(0)]), bank, GUIDE, 100))

    def test_fluidsynth_says_nothing_to_the_person(
        self, bank: Path, capfd: pytest.CaptureFixture[str]
    ) -> None:
        missing_preset = (0, Message("program_change", program=99))
        sound_of([missing_preset, note(0)], bank, 100)
        assert capfd.readouterr() == ("", "")


def test_the_test_bank_is_what_it_claims_to_be() -> None:
    packed = sine_bank_bytes()
    assert packed[:4] == b"RIFF"
    assert int.from_bytes(packed[4:8], "little") == len(packed) - 8
