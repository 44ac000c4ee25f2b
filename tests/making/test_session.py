"""Sessions: taps, playing and rests in one file, and never more than a player may play."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray
from playing import BANK, drill_of

from playalong.drill.model import Drill
from playalong.drill.variation import Variation
from playalong.making.make import make
from playalong.making.plan import Options, plan_build
from playalong.making.session import Part, scenes, session_parts

BAR = "p1: 1 2 p3: 3 1"
QUICK = 'note = "quarter"\npasses = 1\n'
FRAMES = 44_100


def parts_of(more: str = "", **options: bool) -> tuple[Drill, list[Part]]:
    drill = drill_of(BAR, QUICK + more)
    chosen = Options(BANK, **options)  # type: ignore[arg-type]
    rungs = plan_build(drill, chosen).rungs
    gains = {rung: float(rung.bpm) for rung in rungs}
    return drill, list(session_parts(drill, rungs, gains, chosen))


def told(parts: list[Part]) -> Iterator[tuple[int, str, int]]:
    for part in parts:
        yield part.performance.bpm, part.performance.stage.name, part.taps


def test_a_session_plays_the_stages_of_the_first_rung_and_taps_tell_which() -> None:
    _, parts = parts_of("tempo = { start = 60, goal = 63 }")
    assert list(told(parts)) == [
        (60, "listen", 1),
        (60, "answer", 2),
        (60, "check", 3),
        (60, "alone", 4),
    ]
    assert [part.track.number for part in parts] == [1, 2, 3, 4]


def test_the_ladder_plays_every_rung_with_the_gain_it_was_made_with() -> None:
    _, parts = parts_of(
        'stages = ["listen", "alone"]\ntempo = { start = 60, goal = 66 }', whole_ladder=True
    )
    assert list(told(parts)) == [
        (bpm, stage, taps) for bpm in (60, 63, 66) for stage, taps in (("listen", 1), ("alone", 2))
    ]
    assert [part.gain for part in parts] == [60, 60, 63, 63, 66, 66]


def test_home_returns_to_the_first_track_at_the_start_tempo() -> None:
    more = 'stages = ["listen", "alone"]\ntempo = { start = 60, goal = 63 }\nsession.home = true'
    _, parts = parts_of(more, whole_ladder=True)
    assert list(told(parts))[-2:] == [(63, "alone", 2), (60, "listen", 1)]
    _, parts = parts_of(more)
    assert list(told(parts)) == [(60, "listen", 1), (60, "alone", 2), (60, "listen", 1)]


def test_more_than_four_stages_tap_four_times_at_most() -> None:
    own = "".join(f'[stage.s{n}]\nguide = "silent"\n' for n in range(3))
    _, parts = parts_of(own)
    assert [part.taps for part in parts] == [1, 2, 3, 4, 4, 4, 4]


def test_taps_can_be_left_out() -> None:
    drill, parts = parts_of("session.taps = false")
    assert {part.taps for part in parts} == {0}
    assert not any(scene.taps for scene in scenes(drill, parts))


# --- no longer than the player may play


def stands(parts: list[Part]) -> list[list[int]]:
    """Which starting positions each part plays."""
    return [list(dict.fromkeys(p.stand.number for p in each.performance.passes)) for each in parts]


def test_a_long_track_is_played_in_even_parts_some_starting_positions_each() -> None:
    # a place of one bar lasts 4 s at 60, count-in and close 12 s: 5 places last 32 s
    more = 'stages = ["listen"]\nclimb = 5\n'
    _, whole = parts_of(more + "session.play = 0.54")  # 32.4 s
    assert stands(whole) == [[1, 2, 3, 4, 5]]
    _, two = parts_of(more + "session.play = 0.5")  # 30 s
    assert stands(two) == [[1, 2, 3], [4, 5]]
    assert all(part.performance.seconds <= 30 for part in two)
    assert {part.track.number for part in two} == {1}


def test_a_place_that_alone_is_too_long_is_played_whole() -> None:
    more = 'passes = 8\nclimb = 3\nstages = ["listen"]\nsession.play = 0.5'
    drill = drill_of(BAR, f'note = "quarter"\n{more}')
    (rung,) = plan_build(drill, Options(BANK)).rungs
    parts = list(session_parts(drill, [rung], {rung: 1.0}, Options(BANK)))
    assert stands(parts) == [[1], [2], [3]]


def test_parts_keep_to_a_pupils_reach() -> None:
    drill = drill_of(BAR, QUICK + 'stages = ["alone"]\nclimb = 4')
    options = Options(BANK)
    (rung,) = plan_build(Variation(positions=(1, 4)).of(drill), options).rungs
    parts = list(session_parts(drill, [rung], {rung: 1.0}, options))
    assert stands(parts) == [[1, 2]]


# --- scenes


def test_a_rest_stands_between_parts_and_taps_before_each() -> None:
    drill, parts = parts_of('stages = ["listen", "alone"]\nsession.rest = 0.5')
    listed = list(scenes(drill, parts))
    assert [(bool(s.taps), bool(s.part)) for s in listed] == [
        (True, True),
        (False, True),
        (False, False),  # rest
        (True, True),
        (False, True),
    ]
    assert listed[2].blocks * 64 / FRAMES == pytest.approx(30, abs=32 / FRAMES)
    assert listed[1].blocks == parts[0].performance.blocks


def test_no_rest_is_no_scene() -> None:
    drill, parts = parts_of('stages = ["listen", "alone"]\nsession = { rest = 0, taps = false }')
    assert [scene.part for scene in scenes(drill, parts)] == parts


# --- the file


def test_the_file_holds_taps_tracks_and_silent_rests_where_the_manifest_says(
    tmp_path: Path,
) -> None:
    more = 'stages = ["listen", "alone"]\ntempo.start = 200\nsession.rest = 0.01'
    made = make(drill_of(BAR, QUICK + more), tmp_path, Options(BANK, format="wav"))
    (session,) = made.manifest.sessions
    sound = soundfile.read(tmp_path / session.audio, dtype="int16")[0].astype(int)
    assert len(sound) == round(session.seconds * FRAMES)
    assert [number for _, number in session.parts] == [1, 2]
    rest, end = round(0.6 * FRAMES / 64) * 64, 0
    for (start, number), track in zip(session.parts, made.manifest.tracks, strict=True):
        if number == 2:
            assert not np.any(sound[end : end + rest])
            end += rest
        first, frames = round(start * FRAMES), round(track.seconds * FRAMES)
        taps = sound[end:first]
        # a tap every half second, one for listen and two for the second stage
        heard = [bool(np.abs(taps[n * FRAMES // 2 :][:4410]).max() > 300) for n in range(3)]
        assert heard == [True, number == 2, False]
        alone = soundfile.read(tmp_path / track.audio, dtype="int16")[0].astype(int)
        end = first + frames
        assert np.abs(sound[first:end] - alone).max() <= 1  # of 32768: the same sound
    assert end == len(sound)


# --- as MP3: the frames of the tracks themselves


TWO = 'stages = ["listen", "alone"]\ntempo.start = 200\n'
LADDER = 'stages = ["listen", "alone"]\ntempo = { start = 200, goal = 208, step = "+8" }\n'


@pytest.mark.parametrize("split", [False, True])
def test_an_mp3_session_sounds_as_its_tracks_and_begins_them_where_the_manifest_says(
    split: bool, tmp_path: Path
) -> None:
    drill = drill_of(BAR, QUICK + LADDER + "session = { rest = 0.05, home = true }")
    options = Options(BANK, split=split, whole_ladder=True, sheet=False, page=False)
    manifest = make(drill, tmp_path, options).manifest
    (session,) = manifest.sessions
    sound = soundfile.read(tmp_path / session.audio, dtype="float32")[0]
    assert len(sound) == round(session.seconds * FRAMES)
    assert [number for _, number in session.parts] == [1, 2, 3, 4, 1]
    for start, number in session.parts:
        track = soundfile.read(tmp_path / manifest.tracks[number - 1].audio, dtype="float32")[0]
        first = round(start * FRAMES)
        assert np.abs(sound[first : first + len(track)] - track).max() <= 2e-7


def test_an_mp3_session_keeps_the_times_of_any_other_to_half_a_frame(tmp_path: Path) -> None:
    more = 'stages = ["listen", "alone"]\ntempo.start = 120\nclimb = 13\n'
    drill = drill_of(BAR, QUICK + more + "session = { play = 0.5, rest = 0.1 }")
    mp3, wav = (
        make(drill, tmp_path / each, Options(BANK, each, sheet=False, page=False)).manifest
        for each in ("mp3", "wav")
    )
    (ours,), (other,) = mp3.sessions, wav.sessions
    assert [number for _, number in ours.parts] == [number for _, number in other.parts]
    assert len(ours.parts) > len(mp3.tracks)  # the tracks are played in parts
    for (start, _), (expected, _) in zip(ours.parts, other.parts, strict=True):
        assert start == pytest.approx(expected, abs=1152 / 2 / FRAMES + 1e-6)
    sound, expected = (
        soundfile.read(tmp_path / each / session.audio, dtype="float32")[0]
        for each, session in (("mp3", ours), ("wav", other))
    )
    for (start, number), (stood, _) in zip(ours.parts, other.parts, strict=True):
        at, there = round(start * FRAMES), round(stood * FRAMES)
        one, two = sound[at : at + 20 * FRAMES], expected[there : there + 20 * FRAMES]
        assert rms(one - two) < 0.02 * rms(two)
        # the taps before it: as many, as loud and in time
        length = round(FRAMES * (number / 2 + 1.6))
        one, two = sound[max(0, at - length) : at], expected[max(0, there - length) : there]
        assert rms(one) == pytest.approx(rms(two), rel=0.02)
        onsets = [(len(each) - np.argmax(np.abs(each) > 0.05)) / FRAMES for each in (one, two)]
        assert onsets[0] == pytest.approx(onsets[1], abs=1152 / FRAMES)


def rms(sound: NDArray[np.float32]) -> float:
    return float(np.sqrt(np.mean(sound**2)))


def test_an_mp3_session_is_made_again_with_a_changed_track_and_from_ours_if_somebody_changed_it(
    tmp_path: Path,
) -> None:
    options = Options(BANK, sheet=False, page=False)
    drill = drill_of(BAR, QUICK + TWO)
    first = make(drill, tmp_path / "a", options).manifest
    track, session = first.tracks[0].audio, first.sessions[0].audio
    whole = (tmp_path / "a" / session).read_bytes()
    (tmp_path / "a" / track).write_bytes(b"somebody's own")
    (tmp_path / "a" / session).unlink()
    again = make(drill, tmp_path / "a", options)
    assert track in again.changed
    assert (tmp_path / "a" / session).read_bytes() == whole
    other = drill_of(BAR.replace("p3: 3", "p3: 2"), QUICK + TWO)
    changed = make(other, tmp_path / "b", options).manifest
    make(other, tmp_path / "a", options)
    assert (tmp_path / "a" / session).read_bytes() != whole
    assert (tmp_path / "a" / session).read_bytes() == (tmp_path / "b" / session).read_bytes()
    assert changed.sessions[0].audio == session


def test_every_key_and_string_has_its_session(tmp_path: Path) -> None:
    more = 'stages = ["alone"]\nkeys = ["C major", "G major"]\ntempo.start = 200'
    made = make(drill_of(BAR, QUICK + more), tmp_path, Options(BANK, format="wav"))
    assert [session.audio for session in made.manifest.sessions] == [
        "C-major/D/session.wav",
        "G-major/D/session.wav",
    ]
