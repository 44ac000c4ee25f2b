"""MEI gives the bars of a score; Humdrum comes to it by verovio, in a process that may end."""

from __future__ import annotations

import os
import re
from fractions import Fraction

import pytest
from score_truth import CORPUS, our_heads, their_heads
from small_scores import read_through

from playalong import aside
from playalong.music.meter import Meter
from playalong.music.transposition import Transposition
from playalong.passage.mei_reader import BY_BEAT, READINGS
from playalong.passage.model import CHANGES, Part, PassageError, ScoreNote
from playalong.passage.reading import all_parts

HEAD = '<mei xmlns="http://www.music-encoding.org/ns/mei"><meiHead><fileDesc><titleStmt><title>'
DEFINED = (
    '<scoreDef meter.count="3" meter.unit="4" key.sig="2s" key.mode="major"><staffGrp>'
    '<staffDef n="1" clef.shape="G" clef.line="2" label="Violin"/></staffGrp></scoreDef>'
)


def mei(bars: str, defined: str = DEFINED) -> bytes:
    text = f"{HEAD}A Test</title></titleStmt></fileDesc></meiHead><music><body><mdiv><score>"
    return f"{text}{defined}<section>{bars}</section></score></mdiv></body></music></mei>".encode()


def bar(notes: str, number: object = 1, marks: str = "", more: str = "") -> str:
    layer = f'<staff n="1"><layer n="1">{notes}</layer></staff>'
    return f'<measure n="{number}" {more}>{layer}{marks}</measure>'


def note(name: str, length: object = 4, more: str = "", inside: str = "") -> str:
    letter, octave = name
    start = f'<note pname="{letter}" oct="{octave}" dur="{length}" {more}'
    return f"{start}>{inside}</note>" if inside else f"{start}/>"


def only(data: bytes) -> Part:
    (part,) = all_parts(data)
    return part


def first(data: bytes) -> ScoreNote:
    return only(data).bars[0].notes[0]


def names(part: Part) -> list[list[str]]:
    return [[each.pitch.name for each in bar.notes if each.pitch] for bar in part.bars]


def test_attributes_and_elements_say_the_same() -> None:
    elements = (
        '<scoreDef><staffGrp><staffDef n="1"><label>Violin</label><clef shape="G" line="2"/>'
        '<keySig sig="2s" mode="major"/><meterSig count="3" unit="4"/></staffDef></staffGrp>'
        "</scoreDef>"
    )
    one, two = (only(mei(bar(note("f5", 2)), each)) for each in (DEFINED, elements))
    assert one == two
    assert str(one.name) == "1 Violin"
    (found,) = one.bars
    assert (found.signature, found.mode, found.meter, found.clef) == (2, "major", Meter(3, 4), "G2")


def test_lengths_add_up_through_dots_tuplets_chords_and_rests() -> None:
    triplet = f'<tuplet num="3" numbase="2"><beam>{note("a4", 8) * 3}</beam></tuplet>'
    heads = '<note pname="d" oct="4"/><note pname="a" oct="4"/>'
    chord = f'<chord dur="8" dots="1">{heads}</chord>'
    (found,) = only(mei(bar(triplet + chord + '<space dur="16"/><rest dur="4"/>'))).bars
    third = Fraction(1, 3)
    assert [(each.at, each.length, each.is_chord) for each in found.notes] == [
        (0, third, False),
        (third, third, False),
        (2 * third, third, False),
        (1, Fraction(3, 4), False),
        (1, Fraction(3, 4), True),
        (2, 1, False),
    ]
    assert found.notes[0].tuplet == (3, 2)
    assert found.length == 3


def test_signature_and_accidentals_of_the_bar_hold_where_no_note_says_how_it_sounds() -> None:
    bars = bar(note("f5") + note("c5", more='accid="n"') + note("c5")) + bar(note("c5"), 2)
    assert names(only(mei(bars))) == [["F#5", "C5", "C5"], ["C#5"]]


def test_notes_that_say_how_they_sound_are_believed() -> None:
    bars = bar(
        note("f5", more='accid.ges="s"') + note("c5") + note("g4", inside='<accid accid="f"/>')
    )
    assert names(only(mei(bars))) == [["F#5", "C5", "Gb4"]]


def test_marks_find_their_notes_by_id_over_bar_lines() -> None:
    one = note("a4", 2, 'xml:id="a"') + note("b4", 4, 'xml:id="b"')
    marks = (
        '<slur startid="#a" endid="#d"/><tie startid="#b" endid="#c"/><fing startid="#a">2</fing>'
        '<trill startid="#a"/><fing startid="#b">1-2</fing>'
    )
    two = note("b4", 4, 'xml:id="c"') + note("d5", 2, 'xml:id="d" artic="upbow stacc"')
    (start, tied), (rest, end) = (
        each.notes for each in only(mei(bar(one, 1, marks) + bar(two, 2))).bars
    )
    assert (start.slur_starts, start.fingers, start.ornaments) == (1, (2,), ("trill-mark",))
    assert (tied.tie_to_next, tied.other_fingers, rest.tie_from_last) == (True, ("1-2",), True)
    assert (end.slur_stops, end.bow, end.articulations) == (1, "up-bow", ("staccato",))


def test_ties_and_slurs_may_be_attributes_and_grace_notes_have_no_length() -> None:
    notes = note("a4", 4, 'tie="i" slur="i1"') + note("g4", 8, 'grace="acc"')
    one, grace, two = only(mei(bar(notes + note("a4", 4, 'tie="t" slur="t1"')))).bars[0].notes
    assert (one.tie_to_next, one.slur_starts) == (True, 1)
    assert (grace.is_grace, grace.length, grace.at) == (True, 0, 1)
    assert (two.tie_from_last, two.slur_stops, two.at) == (True, 1, 1)


def test_tremolos_and_changes_within_a_bar_are_told() -> None:
    trem = f"<bTrem>{note('a4')}</bTrem><fTrem>{note('b4', 2)}{note('d5', 2)}</fTrem>"
    (found,) = only(mei(bar(trem))).bars
    assert [(each.length, each.ornaments) for each in found.notes] == [(1, ("tremolo",))] * 3
    change = bar(note("a4") + '<keySig sig="1f"/>' + note("b4"))
    one, two = only(mei(change + bar(note("a4"), 2))).bars
    assert (one.signature, one.told, two.signature, two.told) == (2, (CHANGES,), -1, ())


def test_repeats_endings_words_tempo_and_changes_are_kept() -> None:
    marks = '<tempo mm="60" mm.unit="4">Lento</tempo><slur staff="1" tstamp="1" tstamp2="0m+2"/>'
    end = bar(note("a4", 2), 2, "", 'right="rptend"')
    end = f'<ending n="1">{end}</ending>'
    change = (
        '<staffDef n="1" key.sig="1f" meter.count="2" meter.unit="4" '
        'trans.diat="-1" trans.semi="-2"/>'
    )
    text = bar(note("a4", 2), 1, marks, 'left="rptstart"') + end + change + bar(note("b4", 2), 3)
    one, two, three = only(mei(text)).bars
    assert (one.repeats, one.words, one.tempo, one.told) == (
        ("forward",),
        ("Lento",),
        60,
        (BY_BEAT,),
    )
    assert (two.repeats, two.endings) == (("backward",), ("1 start", "stop"))
    assert (three.signature, three.meter) == (-1, Meter(2, 4))
    assert three.transposition == Transposition(-1, -2)
    assert names(only(mei(text)))[2] == ["Bb4"]


def test_bars_without_a_number_are_counted_and_rests_of_several_are_several() -> None:
    rest = '<measure><staff n="1"><layer><multiRest num="2"/></layer></staff></measure>'
    plain = bar(note("a4", 2, 'dots="1"')).replace('n="1" ', "", 1)
    upbeat = plain.replace('dur="2" dots="1"', 'dur="4"')
    found = only(mei(upbeat + plain + rest + plain)).bars
    assert [(each.number, each.is_implicit) for each in found] == [
        ("0", True),
        *((str(number), False) for number in (1, 2, 3, 4)),
    ]


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (mei(bar(note("a4", 3))), 'bar 1: "3" is no length of a note'),
        (mei(bar(note("h4"))), "bar 1: a note has no readable pitch"),
        (mei(bar("<mRpt/>", 7)), "bar 7: it repeats a bar that is not there"),
        (mei(bar("<halfmRpt/>")), "bar 1: it repeats a part of a bar that is not there"),
        (mei(bar(note("h4")) + bar("<mRpt/>", 2)), "bar 1: a note has no readable pitch"),
        (mei(bar('<tuplet num="0"/>')), "bar 1: it has a tuplet of 0 in the time of 2"),
        (mei(bar('<multiRest num="99999"/>')), "bar 1 rests for 99999 bars"),
        (mei(bar(note("a4")))[:-30], "breaks off or is damaged at line 1"),
        (mei(""), "holds no music"),
        (b"<mei/>", "holds no music"),
        (b'<!DOCTYPE mei [<!ENTITY x "y">]>' + mei(""), "declares XML entities"),
    ],
)
def test_what_cannot_be_read_of_mei_is_told_in_one_sentence(data: bytes, message: str) -> None:
    with pytest.raises(PassageError, match=re.escape(message)) as refused:
        read_through(data)
    assert "\n" not in str(refused.value)


def test_signs_for_what_is_played_again_are_read_as_what_they_repeat() -> None:
    """MEI 5, 2.2.5: a bar, two bars, several, half of one, a beat."""
    once = bar(note("a4", 2, 'tie="t"') + note("d5", 4, 'tie="i"'), 1)
    part = only(mei(once + bar("<mRpt/>", 2) + bar("<mRpt/>", 3)))
    assert names(part) == [["A4", "D5"]] * 3
    ties = [[(each.tie_from_last, each.tie_to_next) for each in one.notes] for one in part.bars]
    assert ties[1:] == [[(False, False)] * 2] * 2  # of the first bar's neighbours alone
    assert [one.length for one in part.bars] == [3, 3, 3]

    two = bar(note("a4", 2) + note("d5"), 1) + bar(note("f5", 2) + note("e5"), 2)
    for sign, more in (("<mRpt2/>", "<mSpace/>"), ('<multiRpt num="2"/>', "<mRpt2/>")):
        found = names(only(mei(two + bar(sign, 3) + bar(more, 4) + bar(note("a4", 2), 5))))
        assert found[2:] == [["A4", "D5"], ["F#5", "E5"], ["A4"]]

    common = DEFINED.replace('count="3"', 'count="4"')
    half = bar(note("a4") + note("b4", 8) * 2 + "<halfmRpt/>")
    assert names(only(mei(half, common))) == [["A4", "B4", "B4"] * 2]
    beats = bar(note("a4", 8) + note("b4", 8) + "<beatRpt/>" * 2 + note("d5"))
    (found,) = only(mei(beats, common)).bars
    assert [each.at for each in found.notes] == [Fraction(n, 2) for n in range(7)]
    beats = bar(note("a4", 8) * 2 + note("b4", 8) * 2 + '<beatRpt beatdef="2"/>')
    assert names(only(mei(beats, common))) == [["A4", "A4", "B4", "B4"] * 2]


def test_each_voice_repeats_its_own() -> None:
    two = '<measure n="{}"><staff n="1"><layer n="1">{}</layer><layer n="2">{}</layer></staff>'
    first = two.format(1, note("a5", 2, 'dots="1"'), note("a4", 2, 'dots="1"'))
    again = two.format(2, "<mRpt/>", note("b4", 2, 'dots="1"'))
    part = only(mei(first + "</measure>" + again + "</measure>"))
    assert names(part) == [["A5", "A4"], ["A5", "B4"]]


def test_a_bar_that_cannot_be_read_leaves_the_others() -> None:
    part = only(mei(bar(note("a4"), 1) + bar(note("b4", 3), 2) + bar("<mRpt/>", 3)))
    assert [one.fault for one in part.bars] == [
        "",
        '"3" is no length of a note',
        "it repeats a bar that cannot be read",
    ]
    assert names(part) == [["A4"], [], []]


def test_of_several_readings_of_whole_bars_the_first_is_read_and_told() -> None:
    lem, rdg = (
        f"<{tag}>{bar(note(name), 2)}</{tag}>" for tag, name in (("lem", "a4"), ("rdg", "e5"))
    )
    part = only(mei(bar(note("d5")) + f"<app>{lem}{rdg}</app>" + bar(note("b4"), 3)))
    assert names(part) == [["D5"], ["A4"], ["B4"]]
    assert [one.told for one in part.bars] == [(), (READINGS,), ()]


KERN = """**kern\t**fing\t**kern
*Iviola\t*\t*Ivioln
*k[f#]\t*\t*k[f#]
*M3/4\t*\t*M3/4
=1\t=1\t=1
(4g\t1\t4b
4a)\t3\t6cc
.\t.\t6ddT
[4f#\t2\t.
.\t.\t6ee
=2\t=2\t=2
.\t.\tqcc#
4f#]\t.\t2.dd
2g\t0\t.
==\t==\t==
*-\t*-\t*-
"""


def test_humdrum_keeps_spelling_ties_slurs_graces_triplets_and_fingers() -> None:
    violin, viola = all_parts(KERN.encode())
    assert [str(violin.name), str(viola.name)] == ["1 Violin", "2 Viola"]
    assert names(violin) == [["B4", "C5", "D5", "E5"], ["C#5", "D5"]]
    assert names(viola) == [["G4", "A4", "F#4"], ["F#4", "G4"]]
    one, two = viola.bars
    assert [each.fingers for each in (*one.notes, *two.notes)] == [(1,), (3,), (2,), (), (0,)]
    assert (one.notes[0].slur_starts, one.notes[1].slur_stops) == (1, 1)
    assert (one.notes[2].tie_to_next, two.notes[0].tie_from_last) == (True, True)
    assert [each.length for each in violin.bars[0].notes] == [1, *[Fraction(2, 3)] * 3]
    assert violin.bars[1].notes[0].is_grace


@pytest.mark.parametrize(
    "name", ["bach/bwv281.krn", "palestrina/Credo_67_c.krn", "chopin/mazurka06-2.krn"]
)
def test_notes_of_humdrum_are_those_that_music21_reads(name: str) -> None:
    theirs = their_heads(CORPUS / name)
    assert theirs
    assert our_heads(CORPUS / name) == theirs


def processor_seconds() -> float:
    """Of all children so far; the clock would tell of what else the machine does."""
    children = os.times()
    return children.children_user + children.children_system


@pytest.mark.parametrize(
    "content",
    [
        KERN[:200].replace("4g\t1", "4g"),
        KERN.replace("2.dd", "4dd"),
        "**kern\n" + "\x00\xff\t(((" * 5000,
        "**kern\n*^\n" * 3000,
    ],
)
def test_a_damaged_humdrum_file_ends_as_one_sentence(content: str) -> None:
    before = processor_seconds()
    with pytest.raises(PassageError, match="the Humdrum file is damaged") as refused:
        all_parts(content.encode())
    assert "\n" not in str(refused.value)
    assert processor_seconds() - before < 4


@pytest.mark.parametrize(
    ("fault", "message"),
    [
        ("import os; os.abort()", "its reader gave up on it"),
        ("bytearray(10**9)", "its reader gave up on it"),
        ("while True: pass", "its reader gave up on it"),
    ],
)
def test_an_abort_a_loop_and_a_want_of_memory_are_kept_from_this_process(
    fault: str, message: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    run = aside.subprocess.run

    def spoiled(command: list[str], **more: object) -> object:
        script = command[2].replace("m.child()", f"limit_self(AS=m.LIMIT_BYTES)\n{fault}")
        return run([*command[:2], script], **more)  # type: ignore[call-overload]

    monkeypatch.setattr(aside.subprocess, "run", spoiled)
    with pytest.raises(PassageError, match=message):
        all_parts(KERN.encode())
