"""ABC gives the bars of a score: signs as the standard (ABC 2.1) has them, music21 beside."""

from __future__ import annotations

import re
import time
from fractions import Fraction
from pathlib import Path

import pytest
from score_truth import CORPUS, our_heads, their_heads
from small_scores import read_through
from typer.testing import CliRunner

from playalong.cli import app
from playalong.errors import PlayalongError
from playalong.music.meter import Meter
from playalong.music.transposition import Transposition
from playalong.passage.abc_bars import CUT
from playalong.passage.abc_voice import UNKNOWN
from playalong.passage.line import TOP, line_of
from playalong.passage.model import CHANGES, Part, PassageError, ScoreNote
from playalong.passage.reading import all_parts

HALF, THIRD = Fraction(1, 2), Fraction(1, 3)


def abc(music: str, key: str = "C", head: str = "M:4/4\nL:1/4\n") -> bytes:
    return f"X:1\nT:A Test\n{head}K:{key}\n{music}\n".encode()


def only(music: str, key: str = "C", head: str = "M:4/4\nL:1/4\n") -> Part:
    (part,) = all_parts(abc(music, key, head))
    return part


def first(music: str) -> ScoreNote:
    return only(music).bars[0].notes[0]


def names(part: Part) -> list[list[str]]:
    return [[note.pitch.name for note in bar.notes if note.pitch] for bar in part.bars]


def lengths(music: str) -> list[Fraction]:
    return [note.length for note in only(f"{music} |").bars[0].notes]


def test_a_key_and_accidentals_hold_in_their_octave_to_the_bar_line() -> None:
    found = names(only("f ^c c C | c =F f _B, |", "G"))
    assert found == [["F#5", "C#5", "C#5", "C4"], ["C5", "F4", "F#5", "Bb3"]]


@pytest.mark.parametrize(
    ("key", "signature", "mode", "f"),
    [
        ("Am", 0, "minor", "F5"),
        ("D Dorian", 0, "dorian", "F5"),
        ("Bb min bass", -5, "minor", "F5"),
        ("Amix", 2, "mixolydian", "F#5"),
        ("Hp", 2, "", "F#5"),
        ("none", 0, "", "F5"),
        ("G# clef=treble", None, "major", "F##5"),
        ("D =f", None, "major", "F5"),
    ],
)
def test_a_key_says_its_signature_and_mode(
    key: str, signature: int | None, mode: str, f: str
) -> None:
    (bar,) = only("f4|", key).bars
    assert (bar.signature, bar.mode, names(only("f4|", key))) == (signature, mode, [[f]])


@pytest.mark.parametrize(
    ("music", "expected"),
    [
        ("A2 A/ A3/2", [2, HALF, HALF * 3]),
        ("A// z A", [HALF / 2, 1, 1]),
        ("A>B A<B", [HALF * 3, HALF, HALF, HALF * 3]),
        ("A>>.!3!B", [HALF * 7 / 2, HALF / 2]),
        ("(3ABc (3:2:2A2B2", [THIRD * 2] * 3 + [THIRD * 4] * 2),
        ("(2AB", [HALF * 3] * 2),
        ("[Ac]2 [A2c2]", [2] * 4),
        ("{g}A {gf}B", [0, 1, 0, 0, 1]),
        ("A{g}>B", [HALF * 3, 0, HALF]),
    ],
)
def test_lengths_follow_dots_broken_rhythms_tuplets_chords_and_grace_notes(
    music: str, expected: list[Fraction]
) -> None:
    assert lengths(music) == expected


def test_notes_stand_where_those_before_them_end() -> None:
    (bar,) = only("A{g}>B [Ac]2 |").bars
    assert [note.at for note in bar.notes] == [0, HALF * 3, HALF * 3, 2, 2]
    assert bar.length == 4
    assert [note.is_chord for note in bar.notes[3:]] == [False, True]


def test_a_plain_note_is_a_sixteenth_in_short_meters_and_stays_when_they_change() -> None:
    two = only("A | [M:3/4] A", head="M:2/4\n").bars
    assert [bar.notes[0].length for bar in two] == [HALF / 2, HALF / 2]
    assert only("A", head="M:3/4\n").bars[0].notes[0].length == HALF


def test_ties_carry_an_accidental_over_the_bar_line() -> None:
    one, two = only("A ^F3- | F2 F2 |").bars
    assert one.notes[1].tie_to_next
    assert [note.tie_from_last for note in two.notes] == [True, False]
    assert names(only("A ^F3- | F2 F2 |"))[1] == ["F#4", "F4"]
    below, above = only("[A-c]2 | [Ac]2").bars[1].notes
    assert (below.tie_from_last, above.tie_from_last) == (True, False)


@pytest.mark.parametrize(
    ("music", "field", "value"),
    [
        ("!3!A", "fingers", (3,)),
        ('"4"A', "fingers", (4,)),
        ('"_4"A', "fingers", (4,)),
        ('"04"A', "other_fingers", ("04",)),
        ("!thumb!A", "other_fingers", ("thumb",)),
        ("!open!A", "is_open", True),
        ("uA", "bow", "up-bow"),
        ("!downbow!A", "bow", "down-bow"),
        ("(AB)", "slur_starts", 1),
        ("TA", "ornaments", ("trill-mark",)),
        ("+lowermordent+A", "ornaments", ("mordent",)),
        (".A", "articulations", ("staccato",)),
        ("{A}B", "is_grace", True),
        ("(3ABc", "tuplet", (3, 2)),
        ("^/A", "microtone", HALF),
    ],
)
def test_marks_of_a_note_are_kept(music: str, field: str, value: object) -> None:
    assert getattr(first(music), field) == value


def test_slurs_end_on_the_note_before_their_sign() -> None:
    assert [note.slur_stops for note in only("(A (B) c)").bars[0].notes] == [0, 1, 1]


def test_repeats_endings_words_tempo_and_an_upbeat_are_kept() -> None:
    part = only('G|:"^dolce"ABcd|1 A4:|2 B3:: !D.C.!"Am"A4|]', head="M:4/4\nL:1/4\nQ:1/2=60\n")
    assert [bar.number for bar in part.bars] == ["0", "1", "2", "3", "4"]
    assert [bar.repeats for bar in part.bars] == [
        (),
        ("forward",),
        ("backward",),
        ("backward",),
        ("forward",),
    ]
    assert [bar.endings for bar in part.bars] == [(), (), ("1 start",), ("2 start",), ()]
    assert [bar.words for bar in part.bars] == [(), ("dolce",), (), (), ("D.C.",)]
    assert part.bars[0].tempo == 120


def test_keys_and_meters_change_where_a_bar_begins() -> None:
    one, two, three = only("A4|\nM:3/4\nK:D\nf3|f [K:C] f2|]").bars
    assert (one.meter, one.signature) == (Meter(4, 4), 0)
    assert (two.meter, two.signature) == (Meter(3, 4), 2)
    assert (three.signature, three.told) == (2, (CHANGES,))
    assert names(only("[K:D]f [K:C] f2|]")) == [["F#5", "F5"]]


@pytest.mark.parametrize(
    ("meter", "expected", "words"),
    [
        ("C", Meter(4, 4), ""),
        ("C|", Meter(2, 2), ""),
        ("(3+2)/8", Meter(5, 8), "(3+2)/8"),
        ("none", None, "none"),
        ("3/128", None, "3/128"),
    ],
)
def test_a_meter_is_a_sign_a_sum_or_none(meter: str, expected: Meter | None, words: str) -> None:
    (bar,) = only("A|", head=f"M:{meter}\n").bars
    assert (bar.meter, bar.meter_words) == (expected, words)


def test_every_voice_of_every_tune_is_a_part() -> None:
    text = 'X:1\nT:One\nM:4/4\nL:1/4\nV:1 name="Violin"\nV:2 octave=-1\nK:C\n'
    text += "V:1\nA4|\nw:la\nV:2\n[K:D]f4|\n[V:1]B4|[V:2]c4|\n\nX:2\nT:Two\nK:G\nf|\n"
    parts = all_parts(text.encode())
    assert [str(part.name) for part in parts] == ["1 One Violin", "2 One 2", "3 Two"]
    assert [names(part) for part in parts] == [
        [["A4"], ["B4"]],
        [["F#4"], ["C#4"]],
        [["F#5"]],
    ]
    assert parts[2].title == "Two"


def test_two_voices_of_a_bar_and_rests_of_several_bars_are_read() -> None:
    one, *rests = only("A2B2 & E4 | Z2 | c4").bars
    assert [(note.voice, note.at) for note in one.notes] == [("1", 0), ("1", 2), ("2", 0)]
    assert [bar.length for bar in rests] == [4, 4, 4]


def test_a_clef_or_voice_may_sound_elsewhere_than_it_is_written() -> None:
    assert only("c4", "C clef=treble-8").bars[0].transposition == Transposition(-7, -12)
    assert only("c4", "C transpose=-2").bars[0].transposition == Transposition(-1, -2)


def test_what_is_lost_is_told_in_its_bar() -> None:
    part = only("A4 | B4 @ | c4 | N d4", head="M:4/4\nL:1/4\nP:AAB\nm:~n = n\n")
    told = [bar.told for bar in part.bars]
    assert told[1:] == [(UNKNOWN,), (), (UNKNOWN,)]
    assert [each.rpartition(" ")[2] for each in told[0]] == ["(P:)", "(m:)"]


@pytest.mark.parametrize(
    "name",
    [
        "oneills1850/0731-0731.abc",
        "ryansMammoth/AutographHornpipe.abc",
        "ryansMammoth/BelleOfTheStageLancashireClog.abc",
    ],
)
def test_notes_of_abc_are_those_that_music21_reads(name: str) -> None:
    """With grace notes, triplets, broken rhythms, chords, endings and accidentals."""
    ours = [(head.at, head.length, head.name, head.grace) for head in our_heads(CORPUS / name)]
    theirs = [(head.at, head.length, head.name, head.grace) for head in their_heads(CORPUS / name)]
    assert theirs
    assert sorted(ours) == sorted(theirs)


def test_a_tune_without_bar_lines_is_cut_by_its_meter_and_told() -> None:
    part = only("(A B c d e)f4 {g}[ce]2 |] ".replace(" |]", ""), head="M:3/4\nL:1/4\n")
    assert [bar.length for bar in part.bars] == [3, 3, 3, 2]
    heads = [[(n.pitch.name, n.at, n.length) for n in bar.notes if n.pitch] for bar in part.bars]
    assert heads[1:3] == [[("D5", 0, 1), ("E5", 1, 1), ("F5", 2, 1)], [("F5", 0, 3)]]
    line = line_of(part.bars, TOP)
    assert [(n.pitch.name, n.start, n.length) for n in line.notes][5:] == [
        ("F5", 5, 4),
        ("G5", 9, 0),
        ("E5", 9, 2),
    ]
    assert line.left_out[0] == f"{CUT}: bars 1, 2, 3, 4"
    assert only("A B c d e f g").bars[0].length == 4
    assert only("A B c d | e").bars[0].told == ()
    assert [bar.length for bar in only("A B c d e", head="M:none\nL:1/4\n").bars] == [5]


def test_a_bar_that_cannot_be_read_leaves_the_others() -> None:
    part = only("A B c d | e2 f0 | [L:x]A B | [L:1/4]g4 |")
    assert [bar.fault for bar in part.bars] == [
        "",
        "a note has no length that can be played",
        '"L:x" is no length of a note',
        "",
    ]
    assert [len(bar.notes) for bar in part.bars] == [4, 0, 0, 1]
    assert [bar.number for bar in part.bars] == ["1", "2", "3", "4"]


HOSTILE = {
    "bars without end": (abc("Z999" * 60), "too much to be read at once"),
    "an endless chord": (abc("[" + "a" * 500_000), "too much to be read at once"),
    "tunes without end": (b"X:1\nK:C\na\n" * 5_100, "more than 5,000 voices and tunes"),
    "a megabyte": (abc("a" * 1_000_000), "more than 512 kB"),
    "signs without end": (abc("|:" * 250_000), "holds no music"),
    "no length": (abc("A4 | B0 |"), "bar 2: a note has no length"),
    "no plain length": (abc("A", head="L:0/4\n"), '"L:0/4" is no length'),
    "out of hearing": (abc("A''''''"), "a note lies in octave 10"),
    "an octave of the moon": (abc("A", "C octave=9"), "a note lies in octave 13"),
}


@pytest.mark.parametrize("what", HOSTILE)
def test_a_hostile_tune_is_refused_in_one_sentence(what: str) -> None:
    content, expected = HOSTILE[what]
    began = time.process_time()
    with pytest.raises(PassageError, match=re.escape(expected)) as refused:
        read_through(content)
    assert time.process_time() - began < 2
    assert "\n" not in str(refused.value)
    assert len(str(refused.value)) < 200


def test_a_passage_of_a_tune_is_written_and_a_bad_one_writes_nothing(tmp_path: Path) -> None:
    good, bad = tmp_path / "good.abc", tmp_path / "bad.abc"
    good.write_bytes(abc('A"3"Bcd|e"4"f2a|g4|'))
    bad.write_bytes(abc("A0"))
    asked = ["--instrument", "violin", "--key", "C major", "--shifts", "0", "-o"]
    made = CliRunner().invoke(app, ["passage", str(good), *asked, str(tmp_path / "out")])
    assert made.exit_code == 0, made.output
    assert "A4" in (tmp_path / "out" / "passage.toml").read_text()
    refused = CliRunner().invoke(app, ["passage", str(bad), *asked, str(tmp_path / "no")])
    assert isinstance(refused.exception, PlayalongError)
    assert not (tmp_path / "no").exists()
