"""Which heads need an accidental (common practice)."""

from __future__ import annotations

from written_music import main_notes, music


def test_an_accidental_holds_for_its_bar_and_is_taken_back_within_it():
    root = music("1 1# 1# 1 | 1 1 1 1", 'note = "quarter"\nkeys = ["A major"]\nstrings = ["D"]')
    shown = [note.findtext("accidental") for note in main_notes(root)]
    assert shown == [None, "sharp", None, "natural", None, None, None, None]
    root = music("2 2n 2 2#", 'note = "quarter"\nkeys = ["A major"]\nstrings = ["D"]')
    shown = [note.findtext("accidental") for note in main_notes(root)]
    assert shown == [None, "natural", "sharp", "double-sharp"]


def test_the_raised_seventh_is_written_since_the_signature_lacks_it():
    root = music("3*8", 'keys = ["D harmonic minor"]\nstrings = ["G"]\nclimb = 3')
    shown = [note.findtext("accidental") for note in main_notes(root)]
    names = [note.findtext("pitch/step") for note in main_notes(root)]
    assert root.findtext(".//fifths") == "-1"
    assert dict(zip(names, shown, strict=True)) == {"C": "sharp", "D": None, "E": None}


def test_a_melodic_minor_is_sharpened_on_the_way_up_and_taken_back_on_the_way_down():
    more = 'note = "quarter"\nkeys = ["A melodic minor"]'
    root = music("E5 F5 G5 A5 | A5 G5 F5 E5 | E5 G5 A5 G5 | F5 E5 r r", more)
    heads = [note for note in main_notes(root) if note.find("rest") is None]
    shown = [note.findtext("accidental") for note in heads]
    assert root.findtext(".//fifths") == "0"
    assert shown[:4] == [None, "sharp", "sharp", None]
    assert shown[8:12] == [None, "sharp", None, "natural"]
    assert [note.findtext("pitch/alter") for note in heads[4:8]] == [None] * 4


def test_an_accidental_stands_once_over_a_tie():
    root = music("1 2#*5 r*2", 'keys = ["C major"]\nstrings = ["D"]')
    heads = [note for note in main_notes(root) if note.find("rest") is None]
    assert [note.findtext("accidental") for note in heads] == [None, "sharp", None]


def courtesies(bar: str, more: str) -> list[str | None]:
    """Accidentals, those of courtesy in parentheses; `-` for a head without one."""
    found = []
    for note in main_notes(music(bar, more)):
        sign = note.find("accidental")
        shown = "-" if sign is None else sign.text
        found.append(f"({shown})" if sign is not None and sign.get("parentheses") else shown)
    return found


def test_a_courtesy_accidental_reminds_of_what_holds_again_in_the_next_bar():
    more = 'note = "quarter"\nkeys = ["C major"]\nstrings = ["D"]'
    shown = courtesies("1# 2 3 4 | 1 1 2 3 | 1 2 3 4", more)
    assert shown == ["sharp", "-", "-", "-", "(natural)", "-", "-", "-", *"----"]
    assert courtesies("1 2 3 4 | 4 3 2 1", more) == ["-"] * 8


def test_a_courtesy_accidental_stands_in_another_octave_of_the_same_bar():
    """A sharp on the G string, then A on the D string."""
    more = 'note = "quarter"\nkeys = ["C major"]'
    assert courtesies("G: p1: 1# D: 4 r*2", more)[:2] == ["sharp", "(natural)"]
    assert courtesies("G: p1: 1 D: 4 r*2", more)[:2] == ["-", "-"]


def test_the_raised_seventh_is_reminded_of_by_its_own_sign_and_the_plain_one_by_courtesy():
    """check: A harmonic minor has G sharp, and its signature G."""
    more = 'note = "quarter"\nkeys = ["A harmonic minor"]\nstrings = ["D"]'
    assert courtesies("3 4 3 2 | 3n 3n 2 1", more)[::4] == ["sharp", "(natural)"]
