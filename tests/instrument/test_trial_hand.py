"""A hand of another build is one new class: everything else asks it and goes on as before.

The trial hand is a fretted one, a finger for each half step: position p is the fret of finger 1,
and finger 4 has no place beyond the twelfth fret.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest

from playalong.drill.load import parse
from playalong.drill.origin import DrillError
from playalong.engraving.musicxml import musicxml
from playalong.engraving.written_score import write_down
from playalong.instrument import catalogue
from playalong.instrument.hand import FingerError, Named, Stop
from playalong.instrument.position import Position
from playalong.instrument.shift import Kind
from playalong.music.key import Key
from playalong.music.pitch import Pitch
from playalong.performance.perform import perform
from playalong.performance.timing import timeline_of
from playalong.score.explanation import explain
from playalong.score.model import Score
from playalong.score.resolving import UnplayableError
from playalong.score.writing import write
from playalong.sound.midi import midi_file

FRETS = 12


class FretHand:
    fingers = (1, 2, 3, 4)
    extending = (4,)
    highest_position = FRETS
    widest_frame = None

    def standing(
        self, open_string: Pitch, position: Position, finger: int, key: Key
    ) -> Pitch | None:
        fret = position.number + finger - 1
        return self.at(open_string, fret, key) if 1 <= fret <= FRETS else None

    def played(
        self,
        open_string: Pitch,
        position: Position,
        finger: int,
        key: Key,
        *,
        alter: str = "",
        extended: bool = False,
    ) -> tuple[int, Pitch] | None:
        if extended:
            return finger, self.at(open_string, position.number + finger, key)
        stands = self.standing(open_string, position, finger, key)
        return stands and (finger, stands)

    @staticmethod
    def at(open_string: Pitch, fret: int, key: Key) -> Pitch:
        """Spelled by the key where it has the note, else as a sharp."""
        wanted = open_string.key_number + fret
        near = range(open_string.index, open_string.index + 9)
        in_key = [key.pitch(index) for index in near]
        spelled = [*in_key, *(Pitch(index, 1) for index in near)]
        return next(pitch for pitch in spelled if pitch.key_number == wanted)

    def check(
        self, string: str, open_string: Pitch, position: Position, finger: int, key: Key
    ) -> None:
        if not 1 <= position.number <= FRETS:
            raise FingerError(f"there is no fret {position}; frets go from 1 to {FRETS}")

    def holds(self, open_string: Pitch, stop: Stop, key: Key) -> bool:
        return self.position_of(open_string, stop.pitch, stop.finger, key) == stop.position

    def is_same(self, open_string: Pitch, one: Position, two: Position, key: Key) -> bool:
        return one == two

    def named(self, open_string: Pitch, position: Position, key: Key) -> Named:
        return Named()

    def height(self, open_string: Pitch, position: Position, key: Key) -> int:
        return position.number

    def position_of(
        self, open_string: Pitch, pitch: Pitch, finger: int, key: Key, *, thumb: bool = False
    ) -> Position:
        return Position(pitch.key_number - open_string.key_number - finger + 1)

    def candidates(
        self, open_string: Pitch, pitch: Pitch, key: Key
    ) -> Iterator[tuple[Position, int]]:
        for finger in reversed(self.fingers):
            position = self.position_of(open_string, pitch, finger, key)
            if 1 <= position.number <= FRETS:
                yield position, finger

    def strains(self, one: Stop, two: Stop) -> Iterator[str]:
        yield from ()


@pytest.fixture(autouse=True)
def fretted_cello(monkeypatch: pytest.MonkeyPatch) -> None:
    cello = replace(catalogue.INSTRUMENTS["cello"], hand=FretHand())
    monkeypatch.setitem(catalogue.INSTRUMENTS, "cello", cello)


def score(bar: str, more: str = "") -> Score:
    return write(
        parse(f'title = "T"\ninstrument = "cello"\nbar = "{bar}"\nnote = "quarter"\n{more}')
    )


def test_fingers_stand_a_half_step_apart_and_climb_by_frets() -> None:
    written = score("p1: 1 2 3 4", 'climb = 2\nkeys = ["C major"]')
    assert [note.pitch.name for note in written.notes] == [
        *("D#3", "E3", "F3", "F#3"),
        *("E3", "F3", "F#3", "G3"),
    ]


def test_a_written_pitch_finds_its_position_by_the_hand() -> None:
    assert [note.position_number for note in score("E3=1 E3=2 G3=4 F3=1").notes] == [2, 1, 2, 3]


def test_shifts_have_their_kinds_ghosts_and_millimetres() -> None:
    written = score("p1: 1 p3: 3 p1: 1 p3: 1")
    ghost, back = written.notes[1].arrival, written.notes[2].arrival
    assert ghost is not None
    assert (ghost.kind, ghost.ghost, back and back.kind) == (
        Kind.OLD_FINGER,
        Pitch.of("F3"),
        Kind.OLD_FINGER,
    )
    assert ghost.travel_mm == pytest.approx(690 * (2 ** (-1 / 12) - 2 ** (-3 / 12)))


def test_a_finger_without_a_place_in_the_new_position_exchanges_and_has_no_ghost() -> None:
    """Position 11 puts finger 4 beyond the last fret, so it cannot lead there."""
    arrival = score("p1: 4*2 p11: 1*2").notes[1].arrival
    assert arrival is not None
    assert (arrival.kind, arrival.ghost, arrival.finger) == (Kind.EXCHANGE, None, None)
    assert (arrival.start.name, arrival.end.name) == ("F#3", "C#4")


def test_a_finger_without_a_place_is_told_and_so_is_one_that_does_not_reach() -> None:
    with pytest.raises(UnplayableError, match=r'"4\*4": finger 4 in position 11 .* no place'):
        score("p11: 4*4")
    with pytest.raises(UnplayableError, match=r'"1\*4": there is no fret 0; frets go'):
        score("p0: 1*4")
    with pytest.raises(DrillError, match=r'"3x\*4": finger 3 does not reach; only 4x do'):
        score("3x*4")


def test_explanation_timeline_midi_and_sheet_take_it_as_any_other() -> None:
    written = score("p1: 1 p3: 3 p1: 4x 1", "climb = 3")
    assert [shift["kind"] for shift in explain(written)["bars"][0]["shifts"]] == [
        "old finger leads",
        "substitution",  # G3 by finger 3, then by finger 4 reaching
    ]
    performance = perform(written, 60, "listen")
    timeline = timeline_of(performance)
    assert [note.pitch for note in timeline.notes if note.pass_number == 1][:3] == [
        "D#3",
        "G3",
        "G3",
    ]
    assert len(midi_file(performance).tracks) == 5
    assert b"<fingering" in musicxml(write_down(written))
