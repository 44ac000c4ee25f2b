"""Every limit of a drill file from both sides: the last value taken, and the first that is not."""

from __future__ import annotations

import re

import pytest
from explained import drill_text

from playalong.drill.load import parse
from playalong.errors import PlayalongError

# A setting, values that are taken, values that are not, and what is said of those.
LIMITS = [
    ("passes = {}", "1 16", "0 17", "passes: {} is outside 1 to 16"),
    ("gap = {}", "0 8", "-1 9", "gap: {} is outside 0 to 8 bars"),
    ("climb = {}", "1 21", "0 22", "climb: {} is outside 1 to 21"),
    ("climb = [1, {}]", "0 21", "-1 22", "climb: {} is outside 0 to 21"),
    ("tempo.start = {}", "20 320", "19 321", "tempo.start: {} is outside 20 to 320 beats a minute"),
    (
        "tempo = {{ start = 20, goal = {} }}",
        *("20 320", "19 321", "tempo.goal: {} is outside 20 to 320 beats a minute"),
    ),
    (
        "tempo = {{ start = 80, goal = {} }}",
        *("80 81", "79", "tempo.goal: {} lies below the start, 80; the ladder climbs"),
    ),
    ('tempo.step = "{}"', "+1 +999", "+1000", '"{}" is not a tempo step: "marks", or like "+4"'),
    ('tempo.step = "{}"', "+1% +1.0% +99.99%", "+0% +0.99%", '"{}" hardly climbs; "+1" and "+1%"'),
    ('tempo.step = "{}"', "marks", "5 -5 +5.5 5% +5.001% +% +", '"{}" is not a tempo step'),
    (
        "tuning.a4 = {}",
        *("380 480 442.5", "379.9 480.1", "tuning.a4: {} is outside 380 to 480 Hz"),
    ),
    ("drone.octave = {}", "-3 3", "-4 4", "drone.octave: {} is outside -3 to 3"),
    ("click.count_in = {}", "1 4", "0 5", "click.count_in: {} is outside 1 to 4 bars"),
    ("slide.share = {}", "0.05 0.7", "0.049 0.701", "slide.share: {} is outside 0.05 to 0.7"),
    ("session.play = {}", "0.5 60", "0.49 60.1", "session.play: {} is outside 0.5 to 60 minutes"),
    ("session.rest = {}", "0 60", "-0.1 60.1", "session.rest: {} is outside 0 to 60 minutes"),
    ("session.taps = {}", "true false", "0 1", "session.taps: {} is not true or false"),
    (
        "instrument = {{ name = 'violin', string_length_mm = {} }}",
        *("164 377", "163.9 377.1", "string_length_mm = {} is outside 164 to 377 mm for violin"),
    ),
    (
        "instrument = {{ name = 'viola', string_length_mm = {} }}",
        *("188 431", "187.9 431.1", "string_length_mm = {} is outside 188 to 431 mm for viola"),
    ),
]

# A setting, the words that it takes, one that it does not, and what is said of that.
CHOICES = [
    ('note = "{}"', "whole half quarter eighth sixteenth", "32nd", '"{}" is not known here'),
    ('bow = "{}"', "note beat half_bar bar", "two_bars", '"{}" is not known here'),
    ('click.every = "{}"', "half_beat beat half_bar bar off", "note", '"{}" is not known here'),
    (
        'drone.on = "{}"',
        *("tonic tonic_and_fifth off open_D open_G A3 F#4 Bb3", "fifth", '"{}" is not a drone'),
    ),
    ('tuning.temperament = "{}"', "equal pythagorean just", "meantone", '"{}" is not known here'),
    ('slide.lead = "{}"', "old_finger new_finger", "both", '"{}" is not known here'),
    ("slide.lead = {{ {} = 'new finger' }}", "up down", "left", '"{}" is not known here'),
    ("slide.lead = {{ down = '{}' }}", "old_finger new_finger", "both", '"{}" is not known here'),
    ("[stage.own]\nguide = '{}'", "full soft landings silent", "loud", '"{}" is not known here'),
    ("[stage.own]\nslides = '{}'", "full lighter none", "silent", '"{}" is not known here'),
    ("[stage.own]\nghosts = '{}'", "sounded light silent", "none", '"{}" is not known here'),
    ("[stage.own]\ndrone = {}", "true false", "1", "{} is not true or false"),
    ("[stage.own]\nclick = {}", "true false", "1", "{} is not true or false"),
    ("session.home = {}", "true false", "1", "{} is not true or false"),
]


def rows(table: list[tuple[str, ...]], kept: int) -> list[tuple[str, str, str]]:
    """One setting and value each, with what is said; `kept` 1 is what is taken, 2 what is not."""
    return [
        (row[0], value.replace("_", " "), row[3]) for row in table for value in row[kept].split()
    ]


def text_of(setting: str, value: str) -> str:
    """A good drill with the setting; its bar fills 4/4 whatever a plain token lasts."""
    written = setting.format(value)
    note = "eighth"
    if setting.startswith("note"):
        note, written = value, ""
    length = {"whole": 1, "half": 2, "quarter": 4, "sixteenth": 16}.get(note, 8)
    text = drill_text(f"1*{length}", f'note = "{note}"', written)
    return text if "instrument" not in setting else text.replace('instrument = "violin"\n', "")


@pytest.mark.parametrize(("setting", "value", "_"), rows([*LIMITS, *CHOICES], 1))
def test_the_last_value_within_a_limit_and_every_choice_is_taken(
    setting: str, value: str, _: str
) -> None:
    parse(text_of(setting, value))


@pytest.mark.parametrize(("setting", "value", "said"), rows([*LIMITS, *CHOICES], 2))
def test_the_first_value_beyond_a_limit_and_no_choice_is_refused(
    setting: str, value: str, said: str
) -> None:
    with pytest.raises(PlayalongError, match=re.escape(said.format(value))):
        parse(text_of(setting, value))


# --- texts and lists


def test_a_title_has_300_characters_at_most() -> None:
    for title in ("x", "x" * 300):
        assert parse(drill_text("1*8").replace("Try", title)).title == title
    with pytest.raises(PlayalongError, match="title: has 301 characters; 300 at most"):
        parse(drill_text("1*8").replace("Try", "x" * 301))


@pytest.mark.parametrize("sign", ["\\u0000", "\\u001b", "\\u007f", "\\u009f", "\\ufffe", "\\uffff"])
def test_a_title_takes_no_control_character(sign: str) -> None:
    with pytest.raises(PlayalongError, match="title: has a control character in it"):
        parse(drill_text("1*8").replace("Try", f"a{sign}b"))


def test_a_title_is_one_line_whatever_spaces_are_in_it() -> None:
    assert parse(drill_text("1*8").replace("Try", "\\n a \\t\\u00a0 b \\n")).title == "a b"


def test_a_list_has_64_entries_at_most() -> None:
    assert len(parse(drill_text("1*8", f"climb = {[1] * 64}")).climb) == 64  # type: ignore[arg-type]
    for setting in (f"climb = {[1] * 65}", f"rhythm = {['1'] * 65}"):
        name = setting.split()[0]
        with pytest.raises(PlayalongError, match=f"{name}: has 65 entries; 64 at most"):
            parse(drill_text("1*8", setting))


@pytest.mark.parametrize("name", ["a", "Slow bow", "slow-bow_2", "é", "x" * 40])
def test_a_stage_of_ones_own_has_up_to_forty_letters_digits_spaces_and_hyphens(name: str) -> None:
    drill = parse(drill_text("1*8", f'[stage."{name}"]', 'guide = "full"'))
    assert drill.stages[-1].name == name


@pytest.mark.parametrize("name", ["", " a", "-a", "x" * 41, "a.b", "a/b", "a\\nb"])
def test_no_other_name_is_a_stages(name: str) -> None:
    with pytest.raises(
        PlayalongError, match=r"cannot name a stage; letters, digits, spaces and hyph"
    ):
        parse(drill_text("1*8", f'[stage."{name}"]', 'guide = "full"'))


# --- the drone


@pytest.mark.parametrize(
    ("heard", "beyond", "octave", "name"),
    [
        # E0, 20.6 Hz, and C8, 4186 Hz, are the last that are heard
        ("E0", "Eb0", 0, "drone.on: the drone would sound Eb0, too low to hear"),
        ("C8", "C#8", 0, "drone.on: the drone would sound C#8, too high to hear"),
        ("E1", "Eb1", -1, "drone.octave: the drone would sound Eb0, too low to hear"),
        ("C5", "C#5", 3, "drone.octave: the drone would sound C#8, too high to hear"),
    ],
)
def test_a_drone_sounds_from_e0_to_c8(heard: str, beyond: str, octave: int, name: str) -> None:
    parse(drill_text("1*8", f'drone = {{ on = "{heard}", octave = {octave} }}'))
    with pytest.raises(PlayalongError, match=re.escape(name)):
        parse(drill_text("1*8", f'drone = {{ on = "{beyond}", octave = {octave} }}'))


def test_the_tonic_of_every_key_must_be_heard() -> None:
    """On a viola the lowest tonics at or above the low C are E3 and E flat 3."""

    def viola(keys: str) -> str:
        return drill_text("1*8", f"keys = {keys}", "drone.octave = -3", instrument="viola")

    parse(viola('"E major"'))
    for keys in ('"Eb major"', '["E major", "Eb major"]', '["Eb major", "E major"]'):
        with pytest.raises(
            PlayalongError, match=r"drone\.octave: the drone would sound Eb0, too low to hear"
        ):
            parse(viola(keys))


def test_a_drone_that_is_off_or_an_open_string_leaves_the_key_out_of_it() -> None:
    parse(drill_text("E2*8", 'drone = { on = "off", octave = -3 }', instrument="bass"))
    parse(drill_text("1*8", 'drone = { on = "open C", octave = -2 }', instrument="viola"))
    with pytest.raises(
        PlayalongError, match=r"drone\.octave: the drone would sound C0, too low to hear"
    ):
        parse(drill_text("1*8", 'drone = { on = "open C", octave = -3 }', instrument="viola"))
