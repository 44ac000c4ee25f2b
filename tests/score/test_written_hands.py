"""Where the hand stands for pitches that are written with their fingers.

On the violin's D string in C major first position is E4 F4 G4 A4. A finger for each half step, as
in E4 F4 F#4 G4 by 1 2 3 4, is how chromatic passages are fingered in one hand (common practice).
"""

from __future__ import annotations

import pytest
from playing import drill_of

from playalong.drill.variation import Variation
from playalong.score.model import Score
from playalong.score.resolving import UnplayableError
from playalong.score.writing import write

CHROMATIC = "E4=1 F4=2 F#4=3 G4=4"


def score(bar: str, more: str = "", *, key: str = "C major") -> Score:
    return write(drill_of(bar, f'note = "quarter"\npasses = 1\nkeys = ["{key}"]\n{more}'))


def hand(written: Score) -> list[int | None]:
    assert all(note.arrival is None for note in written.notes)
    return [note.position_number for note in written.notes]


@pytest.mark.parametrize(
    ("bar", "positions"),
    [
        (f"p1: {CHROMATIC}", [1, 1, 1, 1]),
        (CHROMATIC, [1, 1, 1, 1]),
        ("G4=4 F#4=3 F4=2 E4=1", [1, 1, 1, 1]),  # the lowest finger stands on its own letter
        ("E4=1 G4=4 F#4=3 E4=1", [1, 1, 1, 1]),
        ("E4=1 D4=0 F#4=3 G4=4", [1, None, 1, 1]),
        ("D#4=1 E4=2 F4=3 F#4=4", [0, 0, 0, 0]),
        ("p2: F4=1 F#4=2 G4=3 G#4=4", [2, 2, 2, 2]),
        ("p1: E4=1 F#4=2 G#4=3 B4=4", [1, 1, 1, 1]),  # 4 reaches
        ("p1: Eb4=1 F4=2 G4=3 A4=4", [1, 1, 1, 1]),
    ],
)
def test_a_hand_that_holds_the_pitches_does_not_shift(bar: str, positions: list[int]) -> None:
    assert hand(score(bar)) == positions


def test_a_position_written_holds_until_the_next_and_across_bar_lines() -> None:
    written = score(f"p1: {CHROMATIC} | F#4=3 G4=4 p3: G4=1 A4=2")
    assert [note.position_number for note in written.notes] == [1, 1, 1, 1, 1, 1, 3, 3]
    assert [note.arrival.kind.value for note in written.notes if note.arrival] == ["substitution"]


def test_without_a_position_pitch_and_finger_still_make_the_hand_shift() -> None:
    assert [note.position_number for note in score("E4=1 G4=1 A4=2 E4=1").notes] == [1, 3, 3, 1]


def test_a_written_position_climbs_with_its_pitches_and_a_fixed_home_stays() -> None:
    climbing = score("p1: E4=1 F4=2 G4=3 A4=4", "climb = 3")
    assert [note.position_number for note in climbing.notes[::4]] == [1, 2, 3]
    home = score("p1!: E4=1*2 p2: F4=1*2", "climb = 3")
    assert [note.position_number for note in home.notes] == [1, 2, 1, 3, 1, 4]
    assert [note.pitch.name for note in home.notes[::2]] == ["E4"] * 3


@pytest.mark.parametrize(
    ("bar", "to", "told"),
    [
        ("p1: G4=1*4", 3, "finger 1 does not reach G4 in position 1"),
        ("p4: E4=1*4", 1, "finger 1 does not reach E4 in position 4"),
        ("p1: E4=4*4", None, "no position puts finger 4 on E4"),
    ],
)
def test_a_pitch_outside_the_written_position_moves_the_hand_and_is_told(
    bar: str, to: int | None, told: str
) -> None:
    if to is None:
        with pytest.raises(UnplayableError, match=told):
            score(bar)
        return
    written = score(bar)
    assert [note.position_number for note in written.notes] == [to]
    (warning,) = written.warnings
    assert warning.endswith(
        f'{told}, so the hand goes to position {to}; write "p{to}:" before it if it should'
    )


def test_a_pitch_that_only_half_position_has_is_told_so() -> None:
    with pytest.raises(
        UnplayableError, match=r'on D#4 .*; finger 1 does in half position: "D#4=1"'
    ):
        score("D#4=4*4")


def test_a_pupils_reach_counts_the_hand_and_not_each_finger_by_itself() -> None:
    """F#4 by 3 alone would be half position, beyond a reach from 1 on."""
    drill = drill_of(CHROMATIC, 'note = "quarter"\nclimb = 2')
    written = write(Variation(positions=(1, 1)).of(drill))
    assert [note.position_number for note in written.notes] == [1] * 4
    assert written.left_out == ("the starting position that reaches position 2 is left out",)


@pytest.mark.parametrize(
    ("bar", "key", "sounds", "offers"),
    [
        ("3b*4", "D major", "Gb4", ["F#4=3"]),
        ("4b*4", "A major", "Ab4", ["G#4=4"]),
        ("4b*4", "D major", "Ab4", ["G#4=4"]),
        ("p3: 2#*4", "F major", "A#4", ["Bb4=2"]),
        ("3b*4", "E major", "G4", []),
        ("2b*4", "D major", "F4", []),
        ("2#*4", "D harmonic minor", "F#4", []),
        ("3b*4", "F major", "Gb4", []),
    ],
)
def test_an_altered_finger_keeps_its_letter_and_a_better_spelling_is_offered(
    bar: str, key: str, sounds: str, offers: list[str]
) -> None:
    """check: in D major the note below G is F sharp, in A major that below A is G sharp."""
    written = score(bar, key=key)
    assert [note.pitch.name for note in written.notes] == [sounds]
    position = written.notes[0].position
    assert list(written.warnings) == [
        f'"{bar.split()[-1]}" sounds {sounds}, which {key} spells {offer[:-2]}: '
        f'write "p{position}: {offer}"'
        for offer in offers
    ]
    for offer in offers:
        respelled = score(f"p{position}: {offer}*4", key=key)
        assert (respelled.notes[0].position, respelled.warnings) == (position, ())
        assert respelled.notes[0].pitch.key_number == written.notes[0].pitch.key_number


@pytest.mark.parametrize(
    ("instrument", "bar", "kept"),
    [
        ("cello", "A: p1: 1 2 4 1", ["1", "2", "3"]),
        ("cello", "A: p1n: 1 2 3 4", ["1n", "2n", "3n"]),
        ("bass", "G: p1: 1 2 4 1", ["1", "2", "3"]),
    ],
)
def test_a_pupils_reach_keeps_a_cellist_and_a_bass_player_within_their_positions(
    instrument: str, bar: str, kept: list[str]
) -> None:
    drill = drill_of(bar, 'note = "quarter"\nclimb = 5', instrument=instrument)
    written = write(Variation(positions=(1, 3)).of(drill))
    assert list(dict.fromkeys(str(note.position) for note in written.notes)) == kept
    assert written.left_out == tuple(
        f"the starting position that reaches position {number} is left out" for number in (4, 5)
    )


def test_a_thumb_position_counts_by_its_number_for_a_pupils_reach() -> None:
    drill = drill_of("D: t7: T 1 2 3", 'note = "quarter"', instrument="cello")
    with pytest.raises(
        UnplayableError, match="no starting position of the climb lies within positions 1-4"
    ):
        write(Variation(positions=(1, 4)).of(drill))
    assert write(Variation(positions=(1, 7)).of(drill)).left_out == ()
