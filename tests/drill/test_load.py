"""What a drill file becomes: defaults, every setting, options over the file, meters, lengths."""

from fractions import Fraction
from pathlib import Path

import pytest

from playalong.drill.load import load, parse
from playalong.drill.model import (
    ClickSettings,
    Drill,
    DroneSettings,
    SessionSettings,
    SlideSettings,
    Tempo,
)
from playalong.drill.rhythm import event_lengths
from playalong.drill.stage import STAGES, Stage
from playalong.instrument.shift import Lead
from playalong.music.key import parse_key
from playalong.music.meter import Meter
from playalong.music.temperament import Tuning

LEAST = 'title = "Try"\ninstrument = "violin"\nbar = "p1: 1 2 3 1 p3: 1 2 p1: 2 1"\n'

FULL = """\
# Accents are welcome: é
title      = "First to third on the D string"
instrument = "viola"
strings    = ["D", "A"]
keys       = ["F major", "D minor"]
meter      = "6/8"
note       = "eighth"
bar        = "p1: 1 2 3 1 p3: 1 2"
climb      = [1, 3, 1]
rhythm     = ["3/2", "1/2"]
bow        = "half bar"
passes     = 3
gap        = 1
stages     = ["soft", "alone"]

[tempo]
start = 60
goal  = 80
step  = "+5%"
[tuning]
a4          = 442
temperament = "just"
[drone]
on     = "open D"
octave = 1
[click]
every    = "half beat"
count_in = 1
[slide]
lead  = { up = "old finger", down = "new finger" }
share = 0.3
[session]
play = 4
rest = 2
taps = false
home = true
[stage.soft]
guide  = ["soft", "silent"]
slides = "lighter"
ghosts = "silent"
drone  = false
"""


def test_title_instrument_and_bar_are_enough() -> None:
    drill = parse(LEAST)
    assert drill.strings == ("D",)
    assert drill.keys == (parse_key("C major"),)
    assert (drill.meter, drill.note, drill.climb, drill.passes) == (
        Meter(4, 4),
        Fraction(1, 2),
        1,
        2,
    )
    assert [stage.name for stage in drill.stages] == ["listen", "answer", "check", "alone"]
    assert (drill.tempo, drill.tuning) == (Tempo(None, None, "marks"), Tuning(440.0, "equal"))
    assert (drill.tempo.start, drill.tempo.goal) == (60, 60)
    assert (drill.drone, drill.click) == (DroneSettings("tonic", 0), ClickSettings("beat", 2))
    assert drill.slide == SlideSettings(Lead(), Fraction(2, 5))
    assert drill.session == SessionSettings(5.0, 1.0, True, False)


def test_every_setting_arrives_where_it_belongs() -> None:
    drill = parse(FULL)
    assert drill.instrument.name == "viola"
    assert drill.strings == ("D", "A")
    assert [key.name for key in drill.keys] == ["F major", "D minor"]
    assert (drill.meter, drill.climb, drill.passes, drill.gap) == (Meter(6, 8), (1, 3, 1), 3, 1)
    assert (drill.rhythm, drill.bow) == ((Fraction(3, 2), Fraction(1, 2)), "half bar")
    assert drill.stages == (
        Stage("soft", ("soft", "silent"), "lighter", "silent", drone=False),
        STAGES["alone"],
    )
    assert (drill.tempo, drill.tuning) == (Tempo(60, 80, "+5%"), Tuning(442.0, "just"))
    assert (drill.drone, drill.click) == (
        DroneSettings("open D", 1),
        ClickSettings("half beat", 1),
    )
    assert drill.slide == SlideSettings(Lead("old finger", "new finger"), Fraction(3, 10))
    assert drill.session == SessionSettings(4.0, 2.0, False, True)


def test_a_single_value_stands_for_a_list_of_one() -> None:
    assert parse(LEAST + 'strings = "A"\nkeys = "G major"\n').strings == ("A",)


def test_a_goal_alone_starts_no_higher_than_it() -> None:
    def ladder(tempo: str) -> tuple[int, int]:
        drill = parse(f"{LEAST}[tempo]\n{tempo}\n")
        return drill.tempo.start, drill.tempo.goal

    assert ladder("goal = 50") == (50, 50)
    assert ladder("goal = 90") == (60, 90)
    assert ladder("start = 90") == (90, 90)


def test_a_small_violin_keeps_its_proportions() -> None:
    table = 'title = "x"\nbar = "1*8"\n[instrument]\nname = "violin"\nstring_length_mm = 246\n'
    small = parse(table).instrument
    assert (small.string_length_mm, small.fingerboard_mm) == (246, pytest.approx(270 * 246 / 328))


def test_a_stage_of_ones_own_joins_the_built_in_ones() -> None:
    drill = parse(LEAST + '[stage.soft]\nguide = "soft"\n')
    assert [stage.name for stage in drill.stages] == [*STAGES, "soft"]


def test_defaults_fill_in_what_the_file_leaves_out_and_no_more(tmp_path: Path) -> None:
    file = tmp_path / "try.toml"
    file.write_text('title = "x"\nbar = "1*8"\ntuning.temperament = "just"\n', encoding="utf-8")
    mine = load(
        file,
        defaults={"instrument": "viola", "tuning.a4": 442, "tuning.temperament": "equal"},
    )
    assert (mine.instrument.name, mine.tuning) == ("viola", Tuning(442.0, "just"))


def test_byte_order_mark_and_windows_line_ends_change_nothing_but_the_hash(tmp_path: Path) -> None:
    plain, windows = tmp_path / "a.toml", tmp_path / "b.toml"
    plain.write_bytes(FULL.encode())
    windows.write_bytes(b"\xef\xbb\xbf" + FULL.replace("\n", "\r\n").encode())

    def told(drill: Drill) -> list[object]:
        return [getattr(drill, name) for name in ("title", "pattern", "keys", "stages")]

    assert told(load(plain)) == told(load(windows))
    assert load(plain).sha256 != load(windows).sha256


def test_every_token_knows_its_line() -> None:
    drill = parse('title = "x"\ninstrument = "violin"\nbar = """\n1*8 |\n\n2*4 3*4"""\n')
    origins = [event.origin for event in drill.pattern.events]
    assert [(origin.text, origin.line, origin.column) for origin in origins] == [
        ("1*8", 4, 1),
        ("2*4", 6, 1),
        ("3*4", 6, 5),
    ]
    assert all(symbol.origin in origins for symbol in drill.pattern.symbols)


def test_columns_count_from_the_beginning_of_the_line() -> None:
    drill = parse('title = "x"\ninstrument = "violin"\nbar   = "p1: 1*4 2*4"\n')
    lines = ['bar   = "p1: 1*4 2*4"']
    for event in drill.pattern.events:
        assert event.origin.line == 3
        assert event.origin.column is not None
        assert lines[0][event.origin.column - 1 :].startswith(event.origin.text)


@pytest.mark.parametrize(
    ("meter", "bar", "beat", "beats"),
    [
        ("4/4", 4, 1, 4),
        ("3/4", 3, 1, 3),
        ("2/2", 4, 2, 2),
        ("5/4", 5, 1, 5),
        ("3/8", Fraction(3, 2), Fraction(1, 2), 3),
        ("6/8", 3, Fraction(3, 2), 2),
        ("9/8", Fraction(9, 2), Fraction(3, 2), 3),
        ("12/8", 6, Fraction(3, 2), 4),
        ("6/16", Fraction(3, 2), Fraction(3, 4), 2),
        ("6/4", 6, 1, 6),
    ],
)
def test_the_beat_of_six_eight_and_its_kin_is_the_dotted_note(
    meter: str, bar: Fraction, beat: Fraction, beats: int
) -> None:
    parsed = Meter.parse(meter)
    assert (parsed.bar, parsed.beat, parsed.beats) == (bar, beat, beats)


def test_the_rhythm_is_handed_out_in_turn_and_skips_tokens_with_a_length() -> None:
    bar = 'bar = "1 2 3*2 4 1*1/2 2 3 4"\n'
    drill = parse(
        LEAST.replace(LEAST.splitlines()[2], bar) + 'rhythm = ["3/2", "1/2"]\nmeter = "17/16"\n'
    )
    (lengths,) = event_lengths(drill.pattern, drill.note, drill.rhythm)
    assert [span * 2 for span in lengths] == [
        Fraction(3, 2), Fraction(1, 2), 2, Fraction(3, 2), Fraction(1, 2), Fraction(1, 2),
        Fraction(3, 2), Fraction(1, 2),
    ]  # fmt: skip


def test_stages_hand_their_levels_out_pass_by_pass() -> None:
    answer, listen = STAGES["answer"], STAGES["listen"]
    assert [answer.guide_level(number) for number in (1, 2, 3)] == ["full", "silent", "full"]
    assert (answer.passes(1), answer.passes(2), answer.passes(4)) == (2, 2, 4)
    assert listen.passes(1) == 1
