"""What the reader finds is what is printed; music21 is the other pair of eyes."""

from __future__ import annotations

from fractions import Fraction

import pytest
from score_truth import CORPUS, SUITE, our_heads, their_heads
from small_scores import attributes, bar, line, note, numbered, score, slurred

from playalong.music.meter import Meter
from playalong.music.transposition import Transposition
from playalong.passage.container import score_bytes
from playalong.passage.model import CHANGES, Part, PassageError, ScoreNote
from playalong.passage.reading import all_parts

# Of music in the public domain, as the corpus of music21 carries it; tests/bench/passages.py
# reads the rest.
ROUNDED = "cpebach/h186.mxl"
PUBLIC_DOMAIN = (
    "haydn/opus1no1/movement1.mxl",
    "haydn/opus1no1/movement2.mxl",
    "haydn/opus1no1/movement3.mxl",
    "haydn/opus1no1/movement4.mxl",
    "haydn/opus1no1/movement5.mxl",
    "haydn/opus74no1/movement2.mxl",
    "haydn/opus74no1/movement3.mxl",
    "mozart/k545/movement1_exposition.mxl",
    "mozart/k80/movement3.mxl",
    "mozart/k80/movement4.mxl",
    "mozart/k155/movement2.mxl",
    "mozart/k155/movement3.mxl",
    "mozart/k156/movement3.mxl",
    "mozart/k156/movement4.mxl",
    "mozart/k458/movement2.mxl",
    "beethoven/opus18no1/movement3.mxl",
    "corelli/opus3no1/1grave.xml",
    "bach/bwv66.6.mxl",
    "bach/bwv93.7.mxl",
    "bach/bwv125.6.mxl",
    "bach/bwv145-a.mxl",
    "bach/bwv165.6.mxl",
    "bach/bwv244.10.mxl",
    "bach/bwv248.17.mxl",
    "bach/bwv248.23-s.mxl",
    "schumann_robert/opus48no2.mxl",
    "monteverdi/madrigal.3.9.mxl",
    "monteverdi/madrigal.4.9.mxl",
    "monteverdi/madrigal.4.18.mxl",
    "monteverdi/madrigal.4.19.mxl",
    "handel/rinaldo/Lascia_chio_pianga.mxl",
    "schumann_clara/polonaise_op1n4.mxl",
    "joplin/maple_leaf_rag.mxl",
    ROUNDED,
    "ciconia/quod_jactatur.xml",
    "luca/gloria.xml",
    "verdi/laDonnaEMobile.mxl",
    "trecento/PMFC_13_01-Kyrie-Summe-Clementissime.mxl",
    "trecento/PMFC_13_02-Kyrie-Questa-fanciulla.mxl",
    "trecento/PMFC_12_22-Benedicamus PMFC12.22.xml",
)


def only(text: str) -> Part:
    (part,) = all_parts(text.encode())
    return part


def first(text: str) -> ScoreNote:
    return only(score(*numbered(text))).bars[0].notes[0]


def test_spelling_length_and_place_are_those_printed() -> None:
    (found,) = only(score(*numbered(line("F#4 Bb4", 2) + note("r", 8) + note("C5", 4)))).bars
    heads = [(n.pitch.name, n.at, n.length) for n in found.notes if n.pitch]
    half = Fraction(1, 2)
    assert heads == [("F#4", 0, half), ("Bb4", half, half), ("C5", 3, 1)]


def test_an_accidental_that_only_is_printed_counts() -> None:
    bare = "<note><pitch><step>F</step><octave>4</octave></pitch><duration>4</duration>{}</note>"
    assert first(bare.format("<accidental>sharp</accidental>")).pitch.name == "F#4"
    assert first(bare.format("<accidental>natural</accidental>")).pitch.name == "F4"


def test_a_quarter_tone_is_kept_apart_from_its_pitch() -> None:
    half = note("C5").replace("<alter>0</alter>", "<alter>0.5</alter>")
    assert (first(half).pitch.name, first(half).microtone) == ("C5", Fraction(1, 2))


@pytest.mark.parametrize(
    ("notations", "field", "value"),
    [
        ("<technical><fingering>3</fingering></technical>", "fingers", (3,)),
        (
            '<technical><fingering substitution="yes">2</fingering></technical>',
            "other_fingers",
            ("2",),
        ),
        ("<technical><string>2</string></technical>", "strings", (2,)),
        ("<technical><open-string/></technical>", "is_open", True),
        ("<technical><harmonic><natural/></harmonic></technical>", "harmonic", "natural"),
        ("<technical><up-bow/></technical>", "bow", "up-bow"),
        ('<slur type="start"/>', "slur_starts", 1),
        ('<slide type="stop"/>', "slide_stops", True),
        ("<ornaments><trill-mark/></ornaments>", "ornaments", ("trill-mark",)),
        ("<articulations><staccato/></articulations>", "articulations", ("staccato",)),
        ('<tied type="start"/>', "tie_to_next", True),
        ("<fermata/>", "articulations", ("fermata",)),
        ("<technical><snap-pizzicato/></technical>", "articulations", ("snap-pizzicato",)),
    ],
)
def test_marks_of_a_note_are_kept(notations: str, field: str, value: object) -> None:
    assert getattr(first(note("A4", notations=notations)), field) == value


def test_voices_go_back_and_chords_sound_together() -> None:
    two = note("E5", 8, "<voice>1</voice>") + "<backup><duration>8</duration></backup>"
    two += note("C5", 8, "<voice>2</voice>")
    two += note("A4", 8) + note("C5", 8).replace("<note>", "<note><chord/>")
    found = only(score(*numbered(two))).bars[0].notes
    assert [(n.pitch.name, n.at, n.voice, n.is_chord) for n in found if n.pitch] == [
        ("E5", 0, "1", False),
        ("C5", 0, "2", False),
        ("A4", 2, "1", False),
        ("C5", 2, "1", True),
    ]


def test_a_backup_before_the_bar_stops_at_its_beginning() -> None:
    back = line("A4") + "<backup><duration>99</duration></backup>" + note("C5")
    assert [n.at for n in only(score(*numbered(back))).bars[0].notes] == [0, 0]


def test_a_grace_note_has_no_length_and_a_tuplet_tells_its_ratio() -> None:
    grace = note("B4").replace("<note>", "<note><grace/>").replace("<duration>4</duration>", "")
    ratio = "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes>"
    found = only(score(*numbered(grace + note("A4", 4, ratio + "</time-modification>"))))
    one, two = found.bars[0].notes
    assert (one.is_grace, one.length, one.at) == (True, 0, 0)
    assert (two.tuplet, two.at) == ((3, 2), 0)


def test_a_tuplet_that_whole_divisions_cannot_tell_lasts_what_its_signs_tell() -> None:
    """Seven 16ths in 64 divisions of a quarter, as notation programs round them."""
    ratio = "<time-modification><actual-notes>7</actual-notes><normal-notes>4</normal-notes>"
    ratio = f"<type>16th</type>{ratio}</time-modification>"
    sevens = "".join(note("A4", length, ratio) for length in (9, 9, 9, 10, 9, 9, 9))
    first = attributes().replace(">4</divisions", ">64</divisions")
    (found,) = only(score(*numbered(sevens + note("B4", 192), first=first))).bars
    assert [each.length for each in found.notes] == [Fraction(1, 7)] * 7 + [3]
    assert found.length == 4
    far = ratio.replace("16th", "eighth")  # signs that lie are not believed
    (found,) = only(score(*numbered(note("A4", 9, far), first=first))).bars
    assert found.notes[0].length == Fraction(9, 64)


def test_key_and_meter_hold_until_they_change() -> None:
    change = attributes(-3, "minor", "3/4")
    bars = only(score(*numbered(line("A4"), line("A4"), change + line("A4")))).bars
    assert [(bar.signature, bar.mode, bar.meter) for bar in bars] == [
        (0, "major", Meter(4, 4)),
        (0, "major", Meter(4, 4)),
        (-3, "minor", Meter(3, 4)),
    ]


def test_a_change_within_a_bar_is_told_and_is_that_of_the_next() -> None:
    change = attributes(2)
    one, two = only(score(*numbered(line("F4") + change + line("F#4 F#4 F#4"), line("A4")))).bars
    assert (one.signature, one.told, two.signature, two.told) == (0, (CHANGES,), 2, ())
    at_its_end = only(score(*numbered(line("F4 A4 A4 A4") + change, line("A4")))).bars
    assert [(bar.signature, bar.told) for bar in at_its_end] == [(0, ()), (2, ())]


def test_the_key_of_a_lower_staff_is_left_to_it() -> None:
    lower = '<attributes><key number="2"><fifths>3</fifths></key></attributes>'
    (bar,) = only(score(*numbered(lower + line("A4")))).bars
    assert (bar.signature, bar.told) == (0, ())


def test_signs_that_stand_for_words_are_words() -> None:
    sign = "<direction><direction-type><segno/></direction-type></direction>"
    assert only(score(*numbered(sign + line("A4")))).bars[0].words == ("segno",)


def test_repeats_endings_words_tempo_and_numbers_are_kept() -> None:
    ending = '<barline><ending number="2" type="start"/><repeat direction="backward"/></barline>'
    words = "<direction><direction-type><words>dolce</words></direction-type>"
    words += '<sound tempo="88"/></direction>'
    upbeat = bar(attributes() + line("A4"), 0, ' implicit="yes"')
    bars = only(score(upbeat, bar(words + line("A4") + ending, "12a"))).bars
    assert [(each.number, each.is_implicit) for each in bars] == [("0", True), ("12a", False)]
    assert (bars[1].repeats, bars[1].endings) == (("backward",), ("2 start",))
    assert (bars[1].words, bars[1].tempo) == (("dolce",), 88.0)


def test_a_transposing_part_sounds_where_it_says() -> None:
    transpose = "<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>"
    found = attributes().replace("</attributes>", f"{transpose}</attributes>")
    (each,) = only(score(bar(found + note("C5")))).bars
    assert each.transposition == Transposition(-1, -2)
    sounds = each.sounding(each.notes[0])
    assert sounds is not None
    assert sounds.name == "Bb4"


def test_a_bar_that_cannot_be_read_leaves_the_others() -> None:
    bad = line("A4 B4") + note("C5").replace("<step>C<", "<step>Q<") + attributes(-1)
    one, two, three = only(score(*numbered(line("A4 B4"), bad, line("B4", 16)))).bars
    assert (two.fault, two.notes, two.length) == ("a note has no readable pitch", (), 4)
    assert (one.fault, one.signature, len(one.notes)) == ("", 0, 2)
    assert (three.fault, three.signature, len(three.notes)) == ("", -1, 1)


def test_the_only_part_may_lack_its_id() -> None:
    text = score(*numbered(slurred("A4", "start"))).replace('<part id="P1">', "<part>")
    assert len(only(text).bars) == 1


def test_a_score_in_the_other_form_is_refused_with_the_way_out() -> None:
    with pytest.raises(PassageError, match="timewise form; export it as partwise"):
        all_parts(b"<score-timewise/>")


def plainest(time: Fraction) -> Fraction:
    near = (Fraction(round(time * parts), parts) for parts in range(1, 128))
    return next(each for each in near if abs(each - time) * 1024 < 1)


@pytest.mark.parametrize("name", PUBLIC_DOMAIN)
def test_notes_are_those_that_music21_reads(name: str) -> None:
    """Letters, accidentals, onsets, lengths and grace notes of every part.

    music21 takes durations as they stand: where a file has 1024 divisions, which hold no triplet,
    what was meant is the plainest fraction within one of them.
    """
    theirs = their_heads(CORPUS / name)
    assert theirs
    if name == ROUNDED:
        theirs = [
            head._replace(at=plainest(head.at), length=plainest(head.length)) for head in theirs
        ]
    assert our_heads(CORPUS / name) == theirs


def test_every_file_of_the_test_suite_is_read() -> None:
    """The MusicXML test suite (MIT): tests/bench/readers.py holds its notes against music21."""
    files = sorted(SUITE.glob("[0-9]*"))
    assert len(files) > 140
    assert [file.name for file in files if not all_parts(score_bytes(file))] == []


@pytest.mark.parametrize(
    "name",
    [
        "01ea-Pitches-Parenthesis-Changed-Accidentals.xml",
        "03b-Rhythm-Backup.xml",
        "13ac-KeySignatures-Octaves.xml",
        "23d-Tuplets-Nested.xml",
        "24d-AfterGrace.xml",
        "43c-MultiStaff-DifferentKeysAfterBackup.xml",
        "72c-TransposingInstruments-Change.xml",
        "90a-Compressed-MusicXML.mxl",
    ],
)
def test_notes_of_the_test_suite_are_those_that_music21_reads(name: str) -> None:
    theirs = their_heads(SUITE / name)
    assert theirs
    assert our_heads(SUITE / name) == theirs
