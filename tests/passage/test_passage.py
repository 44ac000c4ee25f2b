"""From a score to drill files that the rest of the house reads."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import pytest
from score_truth import CORPUS
from small_scores import (
    attributes,
    bar,
    fingered,
    line,
    note,
    numbered,
    score,
    slurred,
    written,
)
from typer.testing import CliRunner

from playalong.cli import app
from playalong.drill.load import parse
from playalong.music.key import parse_key
from playalong.passage.model import PassageError
from playalong.passage.passage import PASSAGE_FILE, Passage, passage_of
from playalong.passage.ways import OPEN_STRING
from playalong.passage.wishes import Asked, Wishes
from playalong.score.explanation import explain
from playalong.score.writing import write

SHIFTING = numbered(
    fingered("A4", 1) + slurred("D5", "start") + slurred("E5", "stop") + line("F#5"),
    note("A5", 8) + note("F#5", 4) + note("D5", 4),
    note("A4", 16),
    first=attributes(2, "major"),
)


def made(folder: Path, *bars: str, asked: Asked | None = None, **more: str) -> Passage:
    return passage_of(written(folder, score(*bars, **more)), asked or Asked())


def bar_text(text: str) -> str:
    return re.search(r'bar        = """\n(.*?)\n"""', text, re.DOTALL)[1]  # type: ignore[index]


def faults(found: Passage) -> list[str]:
    """Where the drill that is read back differs from the line and the fingering."""
    notes = write(parse(found.files[PASSAGE_FILE])).climb[0].fresh
    line, choices = found.fingered.line, found.fingered.choices
    offset = notes[0].start - line.notes[0].start
    stopped = [each.way for each in choices if each.way.finger != OPEN_STRING]
    stops = [each.stop for each in notes if each.stop]
    told = []
    if [each.pitch for each in notes] != [each.pitch for each in line.notes]:
        told.append("pitches")
    times = [(each.start - offset, each.length) for each in notes]
    if not found.fingered.filled and times != [(n.start, n.length) for n in line.notes]:
        told.append("times")
    if [(s.string, s.position, s.finger) for s in stops] != [
        (way.string, way.position, way.finger) for way in stopped
    ]:
        told.append("fingers")
    if found.shift_count != planned_shifts(found):
        told.append("shifts")
    return told


def planned_shifts(found: Passage) -> int:
    """From note to note, each hand judged where the later note lies."""
    fingered = found.fingered
    stopped = [
        (fingered.board(number), choice.way)
        for number, choice in enumerate(fingered.choices)
        if choice.way.finger != OPEN_STRING
    ]
    return sum(
        not board.is_same_hand(new.string, old.position, new.position)
        for (_, old), (board, new) in pairwise(stopped)
    )


def test_the_passage_is_written_in_bar_notation(tmp_path: Path) -> None:
    found = made(tmp_path, *SHIFTING)
    assert bar_text(found.files[PASSAGE_FILE]) == (
        "D: p4: A4=1 A: p1: ( D5=3 E5=4 ) E: F#5=1 |\nA5=3*2 F#5=1 A: D5=3 |\nA4=0*4"
    )


def test_a_tie_an_upbeat_a_dot_and_a_natural_are_written(tmp_path: Path) -> None:
    tie, tied = '<tie type="start"/>', '<tie type="stop"/>'
    bars = [
        bar(attributes(1, "major", "3/4") + line("D5"), 0, ' implicit="yes"'),
        bar(note("F5", 6) + note("E5", 2) + note("D5", 4, tie), 1),
        bar(note("D5", 4, tied) + line("B4"), 2),
    ]
    text = made(tmp_path, *bars).files[PASSAGE_FILE]
    assert 'upbeat     = "1"' in text
    assert bar_text(text) == "A: p1: D5=3 |\nE: Fn5=1. E5=0*1/2 A: D5=3 |\n_ B4=1"


def test_grace_notes_are_written_before_their_note(tmp_path: Path) -> None:
    grace = slurred("C5", "start").replace("<note>", "<note><grace/>")
    grace = grace.replace("<duration>4</duration>", "")
    found = made(tmp_path, *numbered(line("A4") + grace + slurred("B4", "stop") + line("C5 D5")))
    assert bar_text(found.files[PASSAGE_FILE]) == "A: A4=0 p1: g:C5=2 B4=1 C5=2 D5=3"
    assert faults(found) == []


def test_a_rest_before_a_grace_note_stands_before_it(tmp_path: Path) -> None:
    grace = note("C5").replace("<note>", "<note><grace/>").replace("<duration>4</duration>", "")
    found = made(tmp_path, *numbered(note("r", 8) + grace + line("B4 C5")))
    assert bar_text(found.files[PASSAGE_FILE]) == "r*2 A: p1: g:C5=2 B4=1 C5=2"
    assert faults(found) == []
    # Growing begins at the grace note, with a rest for what is not played yet.
    bars = [line("A4 A4") + grace + fingered("B4", 1) + fingered("F#5", 3), note("A5", 16)]
    texts = [
        text for name, text in made(tmp_path, *numbered(*bars)).files.items() if "grow" in name
    ]
    assert texts
    assert "r*2 A: p1: g:C5=2 B4=1" in texts[0]


def test_what_was_chosen_kept_and_left_out_stands_above(tmp_path: Path) -> None:
    trill = note("D5", 16, notations="<ornaments><trill-mark/></ornaments>")
    found = made(tmp_path, *numbered(fingered("E5", 4) + line("D5 C5 B4"), trill))
    text = found.files[PASSAGE_FILE]
    assert "# From score.musicxml, part 1 (Violin), bars 1-2." in text
    assert "# Fingers that the score gives: bar 1 E5 (4)." in text
    assert "#   trill mark: bar 2" in text
    assert found.told == ("trill mark: bar 2",)


def test_three_drills_for_a_shift_end_as_the_passage(tmp_path: Path) -> None:
    found = made(tmp_path, *SHIFTING, asked=Asked(shifts=1))
    assert list(found.files) == [
        PASSAGE_FILE,
        "shift-1-alone.toml",
        "shift-1-in-rhythm.toml",
        "shift-1-growing.toml",
    ]
    passage, alone, rhythm, growing = (bar_text(text) for text in found.files.values())
    assert growing.endswith(passage)
    *steps, whole = growing.split("||\n")  # a double bar line parts the steps
    assert whole == passage
    assert len(steps) == 3  # one, two and four notes more
    assert rhythm == "D: p4: A4=1 A: p1: D5=3 r*2"
    assert alone.count("A4=1") == 2


def test_a_shift_is_told_as_explain_tells_it(tmp_path: Path) -> None:
    found = made(tmp_path, *SHIFTING, asked=Asked(shifts=1))
    (told,) = found.shift_lines
    data = explain(write(parse(found.files[PASSAGE_FILE])))
    (shift,) = (each for bar in data["bars"] for each in bar["shifts"])
    assert shift["kind"] in told
    assert f"{shift['hand_travel_mm']:.0f} mm" in told
    assert f"ghost note {shift['ghost']}" in told or shift["ghost"] is None


def test_a_leading_finger_is_practised_over_its_ghost_note(tmp_path: Path) -> None:
    bars = numbered(fingered("B4", 1, 8) + fingered("F5", 3, 8))
    found = made(tmp_path, *bars, asked=Asked(wishes=Wishes(stay="A")))
    assert bar_text(found.files["shift-1-alone.toml"]) == (
        "A: p1: B4=1*2 p3: D5=1 F5=3 |\nA: p1: B4=1*2 p3: F5=3*2"
    )


def test_without_a_mode_the_key_is_that_of_the_last_note_and_told(tmp_path: Path) -> None:
    bars = numbered(line("A4 B4 C5 A4"), first=attributes(0, ""))
    found = made(tmp_path, *bars)
    assert 'keys       = ["A minor"]' in found.files[PASSAGE_FILE]
    assert found.told == ("the score does not say whether it is A minor or C major; --key does",)
    asked = Asked(key=parse_key("C major"))
    assert made(tmp_path, *bars, asked=asked).told == ()


def test_a_change_of_meter_is_written_in_the_passage_and_its_drills(tmp_path: Path) -> None:
    change = attributes(meter="3/4")
    bars = numbered(line("B4 C5 D5 E5"), change + line("F5 A5 F5"), line("A5 C6 A5"))
    found = made(tmp_path, *bars, asked=Asked(shifts=1, wishes=Wishes(stay="A")))
    passage, alone, rhythm, growing = map(parse, found.files.values())
    assert [str(each.meter) for each in passage.bars] == ["4/4", "3/4", "3/4"]
    assert str(alone.meter) == "4/4"
    assert rhythm.bars[0].meter == rhythm.meter
    assert growing.bars[-1].meter == passage.bars[-1].meter
    assert faults(found) == []


def test_a_meter_of_several_groups_is_written_as_their_sum_and_told(tmp_path: Path) -> None:
    groups = attributes().replace(">4</beats>", ">3+2</beats>")
    found = made(tmp_path, *numbered(line("A4 A4 A4 B4 B4"), first=groups))
    assert str(parse(found.files[PASSAGE_FILE]).meter) == "5/4"
    assert found.told == ("the groups of the meter 3+2/4, written 5/4: bar 1",)


def test_short_bars_are_filled_and_told(tmp_path: Path) -> None:
    found = made(tmp_path, *numbered(line("A4 A4 A4 A4"), line("B4 B4 B4"), line("B4 B4 B4 B4")))
    assert found.told == ("short, so filled up: bar 2",)
    assert bar_text(found.files[PASSAGE_FILE]).splitlines()[1].endswith("r |")


def test_a_note_that_leads_out_of_a_short_bar_fills_it_up(tmp_path: Path) -> None:
    tie, tied = '<tie type="start"/>', '<tie type="stop"/>'
    bars = [line("A4 B4 C5 D5"), line("C5 B4") + note("D5", 4, tie), note("D5", 16, tied)]
    found = made(tmp_path, *numbered(*bars))
    assert bar_text(found.files[PASSAGE_FILE]).splitlines()[1:] == ["C5=2 B4=1 D5=3 _ |", "_*4"]
    assert found.told == ("short, so filled up: bar 2",)


def test_a_harmonic_at_the_half_of_a_string_is_touched_and_others_are_told(tmp_path: Path) -> None:
    """There it sounds what the place would, stopped (acoustics)."""
    touched = note("A5", 8, notations="<technical><harmonic><natural/></harmonic></technical>")
    found = made(tmp_path, *numbered(line("E5 F#5") + touched, touched.replace(">A<", ">G<") * 2))
    assert "A5o=" in bar_text(found.files[PASSAGE_FILE]).splitlines()[0]
    assert faults(found) == []
    assert found.told[0] == "natural harmonics, written as stopped notes: bar 2"


def test_the_tempo_is_the_scores_or_the_askeds(tmp_path: Path) -> None:
    marked = '<direction><sound tempo="100"/></direction>' + line("A4 A4 A4 A4")
    assert "start = 60\ngoal  = 100\n" in made(tmp_path, *numbered(marked)).files[PASSAGE_FILE]
    asked = made(tmp_path, *numbered(marked), asked=Asked(tempo=(50, 72)))
    assert "start = 50\ngoal  = 72\n" in asked.files[PASSAGE_FILE]
    unsaid = made(tmp_path, *numbered(line("A4 A4 A4 A4"))).files[PASSAGE_FILE]
    assert "start = 60\ngoal  = 60\n" in unsaid
    told = [
        "# The score gives no tempo: set start" in each.files[PASSAGE_FILE]
        for each in (made(tmp_path, *numbered(marked)), asked)
    ]
    assert "# The score gives no tempo: set start" in unsaid
    assert told == [False, False]


def test_words_of_a_score_cannot_break_out_of_their_comment(tmp_path: Path) -> None:
    words = "<direction><direction-type><words>a&#10;passes = 9&#x202e;</words></direction-type>"
    bars = numbered(words + "</direction>" + line("A4 A4 A4 A4"))
    text = made(tmp_path, *bars, title="A &quot;T&quot; \\ &#x7f;", part="Violin").files[
        PASSAGE_FILE
    ]
    drill = parse(text)
    assert drill.passes == 2
    assert drill.title.startswith('A "T" \\')
    assert "\u202e" not in text


@pytest.mark.parametrize(
    ("bars", "message"),
    [
        (numbered(line("A4 A4 A4 A4 A4")), "bar 1 holds more than its meter, 4/4"),
        (
            numbered(line("A4"), first=attributes().replace("beat-type>4<", "beat-type>64<")),
            r"bar 1 has no meter that a drill knows \(4/64\)",
        ),
    ],
)
def test_bars_that_no_drill_holds_are_refused_by_number(
    tmp_path: Path, bars: list[str], message: str
) -> None:
    with pytest.raises(PassageError, match=message):
        made(tmp_path, *bars)


def test_a_part_of_another_instrument_asks_for_one(tmp_path: Path) -> None:
    bars = numbered(line("A4 A4 A4 A4"))
    with pytest.raises(PassageError, match="say --instrument violin, viola, cello or bass"):
        made(tmp_path, *bars, part="Oboe")
    with pytest.raises(PassageError, match="violin, viola, cello and bass, not for clarinet"):
        made(tmp_path, *bars, asked=Asked(instrument="clarinet"))
    assert made(tmp_path, *bars, part="Oboe", asked=Asked(instrument="viola")).files


@pytest.mark.parametrize(
    ("name", "part", "bars"),
    [
        ("haydn/opus74no1/movement2.mxl", "1", "9-31"),
        ("haydn/opus74no1/movement2.mxl", "3", "1-40"),
        ("haydn/opus74no1/movement2.mxl", "4", "1-40"),
        ("mozart/k156/movement4.mxl", "1", "1-24"),
        ("beethoven/opus18no1/movement3.mxl", "2", "1-24"),
    ],
)
def test_a_drill_from_a_quartet_plays_the_scores_notes(name: str, part: str, bars: str) -> None:
    """Pitches, onsets and lengths, strings, positions and fingers, and as many shifts."""
    found = passage_of(CORPUS / name, Asked(part=part, bars=bars, voice="top"))
    assert faults(found) == []
    for file, text in found.files.items():
        parse(text, name=file)


def test_bars_keep_the_numbers_of_the_score(tmp_path: Path) -> None:
    found = made(tmp_path, *SHIFTING, asked=Asked(bars="2-3"))
    drill = parse(found.files[PASSAGE_FILE])
    assert [each.number for each in drill.bars] == [2, 3]
    bars = [*SHIFTING[:2], bar(note("A4", 16), 2, ' implicit="yes"'), SHIFTING[2]]
    text = made(tmp_path, *bars).files[PASSAGE_FILE]
    assert "part 1 (Violin), whose bars are here (counted from 1): 1, 2, 2, 3." in text
    assert "first_bar" not in text


def test_an_upbeat_keeps_the_numbers_where_the_last_bar_is_whole(tmp_path: Path) -> None:
    """A rest joins the passage to its own upbeat."""
    upbeat = bar(attributes() + line("B4"), 0, ' implicit="yes"')
    whole = [bar(line("A4 B4 C5 B4"), number) for number in (1, 2)]
    found = made(tmp_path, upbeat, *whole)
    drill = parse(found.files[PASSAGE_FILE])
    assert 'upbeat     = "1"' in found.files[PASSAGE_FILE]
    assert [(each.number, each.is_upbeat) for each in drill.bars][:3] == [
        (1, True),
        (1, False),
        (2, False),
    ]
    assert bar_text(found.files[PASSAGE_FILE]).splitlines()[-1] == "r*3"
    assert found.told == ("a bar of rest, so that the upbeat can come again: after bar 2",)
    assert "part 1 (Violin), bars 0-2." in found.files[PASSAGE_FILE]
    assert faults(found) == []


def test_what_a_last_bar_leaves_of_its_upbeat_is_filled_up(tmp_path: Path) -> None:
    upbeat = bar(attributes() + line("B4"), 0, ' implicit="yes"')
    found = made(tmp_path, upbeat, bar(line("A4 B4 C5 B4"), 1), bar(line("A4 B4"), 2))
    assert bar_text(found.files[PASSAGE_FILE]).splitlines()[-1] == "A4=0 B4=1 r"
    assert found.told == ("short, so filled up: bar 2",)
    assert [each.number for each in parse(found.files[PASSAGE_FILE]).bars] == [1, 1, 2]


@pytest.mark.parametrize(
    ("part", "title"),
    [
        ("Violin II", "A Test, Violin II, bar 1"),
        ("Violin", "A Test, bar 1"),
        ("A Test", "A Test, bar 1"),
    ],
)
def test_the_title_names_the_part_where_that_tells_more_than_the_instrument(
    tmp_path: Path, part: str, title: str
) -> None:
    found = made(
        tmp_path, *numbered(line("A4 A4 A4 A4")), part=part, asked=Asked(instrument="violin")
    )
    assert found.title == parse(found.files[PASSAGE_FILE]).title == title


def test_a_tempo_that_changes_is_told(tmp_path: Path) -> None:
    def marked(bpm: int) -> str:
        return f'<direction><sound tempo="{bpm}"/></direction>' + line("A4 A4 A4 A4")

    found = made(tmp_path, *numbered(marked(60), marked(60), marked(104)))
    assert found.told == ("another tempo, where the drill keeps to one: bar 3",)


def test_a_bass_plays_the_part_of_another_as_it_is_printed(tmp_path: Path) -> None:
    """Which sounds an octave lower (common practice), where its strings reach so low."""
    bars, asked = numbered(line("F2 G2 A2 C3")), Asked(instrument="bass")
    found = made(tmp_path, *bars, part="Cello", asked=asked)
    assert "F2=1 G2=4 A: A2=0 C3=4" in bar_text(found.files[PASSAGE_FILE])
    assert [str(note.pitch) for note in found.fingered.line.notes] == ["F1", "G1", "A1", "C2"]
    assert found.told == ("read as printed, so that it sounds an octave lower",)
    for part, notes in (("Cello", "D2 G2 A2 C3"), ("Bass", "F2 G2 A2 C3")):
        found = made(tmp_path, *numbered(line(notes)), part=part, asked=asked)
        assert " ".join(str(note.pitch) for note in found.fingered.line.notes) == notes
        assert found.told == ()


def test_a_growing_drill_tells_which_bars_it_ends_as(tmp_path: Path) -> None:
    found = made(tmp_path, *SHIFTING, asked=Asked(bars="1-2"))
    assert "its last 2 bars are bars 1 to 2." in found.files["shift-1-growing.toml"]
    assert "first_bar" not in found.files["shift-1-growing.toml"]


def test_a_shift_without_a_ghost_note_stands_alone_in_one_bar(tmp_path: Path) -> None:
    over_a_rest = fingered("A5", 4) + note("r", 4) + fingered("C5", 2) + note("r", 4)
    found = made(tmp_path, *numbered(over_a_rest, note("B4", 16)))
    [shift] = [each for each in found.shifts if not each.travel.ghost][:1]
    number = found.shifts.index(shift) + 1
    assert len(parse(found.files[f"shift-{number}-alone.toml"]).bars) == 1


def test_septuplets_of_a_score_are_those_of_the_drill(tmp_path: Path) -> None:
    ratio = "<time-modification><actual-notes>7</actual-notes><normal-notes>4</normal-notes>"
    ratio = f"<type>eighth</type>{ratio}</time-modification>"
    sevens = note("A4", 4, ratio) * 3 + note("C5", 4, ratio) * 4
    first = attributes().replace(">4</divisions", ">14</divisions")
    found = made(tmp_path, *numbered(sevens + note("B4", 28), first=first))
    assert faults(found) == []
    assert [note.length for note in found.fingered.line.notes] == [Fraction(2, 7)] * 7 + [2]
    assert "*" in bar_text(found.files[PASSAGE_FILE])


def test_bars_beside_one_that_cannot_be_read_are_made_and_it_is_told(tmp_path: Path) -> None:
    bad = note("A4").replace("<step>A<", "<step>Q<")
    file = written(tmp_path, score(*numbered(line("A4 B4 C5 D5"), bad)))
    made = passage_of(file, Asked(bars="1"))
    assert len(made.fingered.line.notes) == 4
    with pytest.raises(PassageError, match="bar 2: a note has no readable pitch"):
        passage_of(file, Asked())
    listed = CliRunner().invoke(app, ["passage", str(file), "--list"])
    assert listed.exit_code == 0
    assert "part 1 Violin, bar 2 cannot be read: a note has no readable pitch" in listed.output


def test_notes_that_lie_above_the_highest_position_are_told_by_their_bars(tmp_path):
    bars = numbered(line("A4 B4 C5 D5"), line("E5 F5 A6 G6"), first=attributes(0, "major"))
    above = "above position 3, which has not these notes: bar 2"
    asked = Asked(wishes=Wishes(highest=3))
    assert above in made(tmp_path, *bars, asked=asked, part="Violin").told
    assert not any("above" in words for words in made(tmp_path, *bars, part="Violin").told)
