"""One passage in four notations: whatever file it comes from, the line and what is told agree."""

from __future__ import annotations

from fractions import Fraction

import pytest
from small_scores import attributes, bar, note, score

from playalong.music.meter import Meter
from playalong.passage.choosing import EARLIER_ENDINGS, choose_bars
from playalong.passage.line import line_of
from playalong.passage.model import Part
from playalong.passage.reading import all_parts

TRILL = "<ornaments><trill-mark/></ornaments>"
STACCATO = "<articulations><staccato/></articulations>"
THREE = "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes>"
THREE += "</time-modification>"
GRACE = "<note><grace/><pitch><step>D</step><octave>5</octave></pitch></note>"
FORWARD = '<barline location="left"><repeat direction="forward"/></barline>'
BACKWARD = '<barline location="right"><repeat direction="backward"/></barline>'
MUSICXML = score(
    bar(attributes(0, "major", "3/4").replace(">4</div", ">12</div") + note("G4", 12), 0),
    bar(
        FORWARD
        + note("A4", 12, notations=TRILL)
        + note("B4", 12, notations=STACCATO)
        + note("C5", 12, notations='<tied type="start"/>'),
        1,
    ),
    bar(
        attributes(1, "major", "2/4").replace(">4</div", ">12</div")
        + note("C5", 12, notations='<tied type="stop"/>')
        + GRACE
        + note("E5", 4, THREE)
        + note("F#5", 4, THREE)
        + note("G5", 4, THREE)
        + BACKWARD,
        2,
    ),
    bar(
        "<direction><direction-type><dynamics><f/></dynamics></direction-type></direction>"
        + "<direction><direction-type><words>dolce</words></direction-type></direction>"
        + note("E4", 24)
        + note("C5", 24, notations="<fermata/>").replace("<note>", "<note><chord/>"),
        3,
    ),
)


def mei_note(name: str, more: str = "") -> str:
    return f'<note pname="{name[0]}" oct="{name[-1]}" {more}/>'


def mei_bar(number: int, notes: str, more: str = "", marks: str = "") -> str:
    layer = f'<staff n="1"><layer n="1">{notes}</layer></staff>'
    return f'<measure n="{number}" {more}>{layer}{marks}</measure>'


MEI = (
    '<mei xmlns="http://www.music-encoding.org/ns/mei"><music><body><mdiv><score>'
    '<scoreDef meter.count="3" meter.unit="4" key.sig="0" key.mode="major"><staffGrp>'
    '<staffDef n="1" label="Violin"/></staffGrp></scoreDef><section>'
    + mei_bar(0, mei_note("g4", 'dur="4"'), 'metcon="false"')
    + mei_bar(
        1,
        mei_note("a4", 'dur="4" xml:id="a"')
        + mei_note("b4", 'dur="4" artic="stacc"')
        + mei_note("c5", 'dur="4" tie="i"'),
        'left="rptstart"',
        '<trill startid="#a"/>',
    )
    + '<scoreDef meter.count="2" meter.unit="4" key.sig="1s" key.mode="major"/>'
    + mei_bar(
        2,
        mei_note("c5", 'dur="4" tie="t"')
        + mei_note("d5", 'dur="8" grace="acc"')
        + '<tuplet num="3" numbase="2">'
        + mei_note("e5", 'dur="8"')
        + mei_note("f5", 'dur="8" accid.ges="s"')
        + mei_note("g5", 'dur="8"')
        + "</tuplet>",
        'right="rptend"',
    )
    + mei_bar(
        3,
        '<chord dur="2" xml:id="c">' + mei_note("e4") + mei_note("c5") + "</chord>",
        marks='<fermata startid="#c"/><dynam tstamp="1">f</dynam><dir tstamp="1">dolce</dir>',
    )
    + "</section></score></mdiv></body></music></mei>"
)
ABC = 'X:1\nM:3/4\nL:1/4\nK:C\nG|:TA .B c-|\nM:2/4\nK:G\nc {d}(3e/f/g/:|"^dolce"!f!H[Ec]2|]'
KERN = """**kern\t**dynam
*I"Violin\t*
*k[]\t*
*C:\t*
*M3/4\t*
4g\t.
=1!|:\t=1
4aT\t.
4b'\t.
[4cc\t.
=2\t=2
*k[f#]\t*
*G:\t*
*M2/4\t*
4cc]\t.
qdd\t.
12ee\t.
12ff#\t.
12gg\t.
=3:|!\t=3
!LO:TX:a:t=dolce\t!
2e 2cc;\tf
==\t==
*-\t*-
"""
TEXTS = {"MusicXML": MUSICXML, "MEI": MEI, "ABC": ABC, "Humdrum": KERN}


@pytest.fixture(scope="module", params=TEXTS)
def part(request: pytest.FixtureRequest) -> Part:
    (found,) = all_parts(TEXTS[request.param].encode())
    return found


def test_notes_with_ties_grace_notes_and_tuplets_are_the_same(part: Part) -> None:
    third = Fraction(1, 3)
    assert [(n.start, n.length, n.pitch.name, n.bar) for n in line_of(part.bars, "top").notes] == [
        (0, 1, "G4", 0),
        (1, 1, "A4", 1),
        (2, 1, "B4", 1),
        (3, 2, "C5", 1),
        (5, 0, "D5", 2),
        (5, third, "E5", 2),
        (5 + third, third, "F#5", 2),
        (5 + 2 * third, third, "G5", 2),
        (6, 2, "C5", 3),
    ]


def test_bars_keys_and_meters_are_the_same(part: Part) -> None:
    three, two = Meter(3, 4), Meter(2, 4)
    found = [(each.number, each.signature, each.meter, each.length) for each in part.bars]
    assert found == [("0", 0, three, 1), ("1", 0, three, 3), ("2", 1, two, 2), ("3", 1, two, 2)]


def test_what_is_left_out_is_told_by_the_same_bars(part: Part) -> None:
    assert sorted(line_of(part.bars, "top").left_out) == [
        "double stops, of which only the highest note is taken: bar 3",
        "dynamics: bar 3",
        "fermata: bar 3",
        "repeat signs and endings (the bars stand once, as printed): bars 1, 2",
        "staccato: bar 1",
        'the words "dolce": bar 3',
        "trill mark: bar 1",
    ]


def ending(which: int, notes: str, back: str = "") -> str:
    return f'<barline><ending number="{which}" type="start"/></barline>{notes}{back}'


BACK = BACKWARD.replace("<repeat", '<ending number="1" type="stop"/><repeat')
WHOLE, REPEATED = 'dur="1"', 'right="rptend"'
SPINE = "**kern *M4/4 *>[A,A1,A,A2] *>A =1 1a *>A1 =2 1b *>A2 =3:|! 1cc == *-"
WITH_ENDINGS = {
    "MusicXML": score(
        bar(attributes() + note("A4", 16)),
        bar(ending(1, note("B4", 16), BACK), 2),
        bar(ending(2, note("C5", 16)), 3),
    ),
    "MEI": MEI[: MEI.index("<section>")].replace('count="3"', 'count="4"')
    + "<section>"
    + mei_bar(1, mei_note("a4", WHOLE))
    + f'<ending n="1">{mei_bar(2, mei_note("b4", WHOLE), REPEATED)}</ending>'
    + f'<ending n="2">{mei_bar(3, mei_note("c5", WHOLE))}</ending>'
    + "</section></score></mdiv></body></music></mei>",
    "ABC": "X:1\nM:4/4\nL:1/4\nK:C\nA4|1 B4:|2 c4|]\n",
    "Humdrum": SPINE.replace(" ", "\n"),
}


@pytest.mark.parametrize("notation", WITH_ENDINGS)
def test_a_second_ending_is_found_in_every_notation(notation: str) -> None:
    (found,) = all_parts(WITH_ENDINGS[notation].encode())
    lines = [line_of(choose_bars(found, asked)) for asked in ("1-2", "2.2", "1-2.2")]
    assert [[each.pitch.name for each in line.notes] for line in lines] == [
        ["A4", "B4"],
        ["C5"],
        ["A4", "C5"],
    ]
    assert f"{EARLIER_ENDINGS}: bar 3" in lines[2].left_out
