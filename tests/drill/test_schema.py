"""The rows of the settings, told: JSON Schema, help, defaults, and the starter's comments."""

from __future__ import annotations

import re
import tomllib
from contextlib import suppress
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from test_bad_drills import FILES, Bad
from test_bad_drills import SETTINGS as BAD_SETTINGS

from playalong.drill.checks import Setting
from playalong.drill.kinds import INSTRUMENT_SETTINGS, LEAD_SETTINGS
from playalong.drill.load import parse
from playalong.drill.model import Drill, Tempo
from playalong.drill.reference import json_schema, settings_list, toml
from playalong.drill.schema import REQUIRED, SETTINGS, STAGE_SETTINGS
from playalong.drill.starter import starter
from playalong.errors import PlayalongError
from playalong.instrument.catalogue import INSTRUMENTS
from playalong.shipped import demo_folder

SCHEMA = json_schema()
DEMO_DRILLS = sorted(demo_folder().glob("*.toml"))
ROWS = {
    **SETTINGS,
    **{f"instrument.{name}": row for name, row in INSTRUMENT_SETTINGS.items()},
    **{f"slide.lead.{name}": row for name, row in LEAD_SETTINGS.items()},
    **{f"stage.NAME.{name}": row for name, row in STAGE_SETTINGS.items()},
}
VALIDATORS = {name: Draft202012Validator(dict(row.check.json)) for name, row in ROWS.items()}
LEAST = 'title = "Try"\ninstrument = "violin"\nbar = "p1: 1 2 3 1 p3: 1 2 p1: 2 1"\n'

# What a schema cannot see, or leaves to playalong: what depends on another setting, on the sound,
# on how two spellings compare; and nan, which is no JSON.
BEYOND_A_SCHEMA = {
    "title with a bell",
    'strings = ["D", "C"]',
    'keys = ["F major", "f  major"]',
    'stages = ["lisen"]',
    "goal below start",
    "goal in a line",
    "[tuning] a4 = nan",
    '[drone] on = "open C"',
    '[drone] on = "C0"',
    "string too short",
    "a flute's string length",
}


def faults(text: str) -> list[str]:
    errors = Draft202012Validator(SCHEMA).iter_errors(tomllib.loads(text))
    return [error.message for error in errors]


def test_the_schema_is_valid_json_schema() -> None:
    Draft202012Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("drill", DEMO_DRILLS, ids=lambda path: path.stem)
def test_every_demo_drill_is_valid_by_the_schema(drill: Any) -> None:
    assert faults(drill.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("bad", BAD_SETTINGS, ids=[bad.id[:40] for bad in BAD_SETTINGS])
def test_the_schema_refuses_a_wrong_name_type_range_or_choice(bad: Bad) -> None:
    assert bool(faults(str(bad.text))) == (bad.id not in BEYOND_A_SCHEMA)


def test_every_exception_is_still_needed() -> None:
    assert {bad.id for bad in BAD_SETTINGS} >= BEYOND_A_SCHEMA


@pytest.mark.parametrize("name", REQUIRED)
def test_the_schema_misses_what_every_drill_needs(name: str) -> None:
    (bad,) = (each for each in FILES if each.id == f"{name} missing")
    assert faults(str(bad.text)) == [f"'{name}' is a required property"]


GOOD_WORDS = (
    "viola", "Bb major", "E-flat major", "f sharp  minor", "c# harmonic minor", "4/4", "12 / 8",
    "half bar", "quarter", "eighth", "3/2", "1", "64", "marks", "+4", "+5%", "+2.5%",
    "tonic and fifth", "open D", "A3", "F##4",
    "B♭3", "old finger", "just", "soft", "lighter", "landings",
)  # fmt: skip
WORDS = st.one_of(
    st.sampled_from(GOOD_WORDS),
    st.builds(
        lambda word, before, between, after: before + between.join(word.split(" ")) + after,
        st.sampled_from([*GOOD_WORDS, *(word.upper() for word in GOOD_WORDS)]),
        *(st.sampled_from((" ", "  ", "\t", "")) for _ in range(3)),
    ),
    st.from_regex(r"[+0-9/.%]{1,7}", fullmatch=True),
    st.from_regex(r"(open )?[A-Ga-g](#|b|♯|♭|n|x)?( ?[0-9]| (major|minor))?", fullmatch=True),
    st.text(max_size=8),
)
VALUES = st.recursive(
    st.one_of(
        WORDS,
        st.booleans(),
        st.integers(-4, 500),
        st.floats(0, 500),
        st.sampled_from((0.05, 0.4, 0.7)),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=4),
        st.dictionaries(st.sampled_from(("up", "down", "name", "string_length_mm")), inner),
    ),
    max_leaves=4,
)


@settings(max_examples=400)
@given(VALUES)
def test_what_a_row_takes_the_schema_takes(value: Any) -> None:
    for name, row in ROWS.items():
        with suppress(ValueError, PlayalongError):
            row.check(value)
            assert VALIDATORS[name].is_valid(value), name


@pytest.mark.parametrize("name", ROWS)
def test_a_default_is_good_by_its_own_row(name: str) -> None:
    if ROWS[name].default is not None:
        ROWS[name].check(ROWS[name].default)
        VALIDATORS[name].validate(ROWS[name].default)


@pytest.mark.parametrize(
    "name", [name for name, row in SETTINGS.items() if row.default is not None]
)
def test_a_default_is_what_a_drill_has_that_leaves_it_out(name: str) -> None:
    def read(text: str) -> Drill:
        drill = parse(text)
        tempo = Tempo(drill.tempo.start, drill.tempo.goal, drill.tempo.step)
        return replace(drill, tempo=tempo, sha256="")

    assert read(LEAST + f"{name} = {toml(SETTINGS[name].default)}\n") == read(LEAST)


def test_the_defaults_of_a_stage_are_those_of_a_stage_that_says_nothing() -> None:
    lines = [f"{name} = {toml(row.default)}\n" for name, row in STAGE_SETTINGS.items()]
    written = parse(LEAST + "[stage.own]\n" + "".join(lines))
    assert written.stages == parse(LEAST + "[stage.own]\n").stages


def test_the_list_tells_every_setting_with_its_help_and_its_default() -> None:
    listed = {name: (help, default) for name, help, default in settings_list()}
    for name, row in ROWS.items():
        if not name.startswith("slide.lead."):
            needed = "it is needed" if name in REQUIRED else ""
            default = needed if row.default is None else toml(row.default)
            assert listed[name] == (row.help, default)


def test_every_help_is_a_description_in_the_schema() -> None:
    told = set(re.findall(r"'description': (?:'([^']*)'|\"([^\"]*)\")", str(SCHEMA)))
    assert {row.help for row in ROWS.values()} <= {one or other for one, other in told}


def starter_rows(text: str) -> list[tuple[str, Setting, str]]:
    """Every setting that a starter shows: its name, its row, and the comment beside it."""
    rows, table = [], ""
    for line in text.splitlines():
        if header := re.match(r"#? ?\[(.+)\]", line):
            table = header[1].replace("echo", "NAME") + "."
        elif shown := re.match(r"(?:# )?(\w+) +=.*?(?:[\]\"\w] +# (.*))?$", line):
            rows.append((table + shown[1], ROWS[table + shown[1]], shown[2] or ""))
    return rows


def test_the_starter_shows_every_setting_and_its_comments_are_their_help() -> None:
    rows = starter_rows(starter())
    assert {name for name, _, _ in rows} == {
        name for name in ROWS if not name.startswith(("instrument.", "slide.lead."))
    }
    for name, row, comment in rows:
        assert comment == ("" if name in ("title", "bar") else row.help), name


@pytest.mark.parametrize("instrument", INSTRUMENTS)
def test_the_starter_works_as_it_is_for_every_instrument(instrument: str) -> None:
    from playalong.score.writing import write

    drill = parse(starter(instrument))
    assert drill.instrument == INSTRUMENTS[instrument]
    assert faults(starter(instrument)) == []
    score = write(drill, drill.keys[0], next(iter(drill.strings), None))
    assert (score.left_out, score.warnings) == ((), ())


def test_the_starter_for_a_small_instrument_names_its_string_length() -> None:
    small = starter({"name": "violin", "string_length_mm": 290})
    assert parse(small).instrument.string_length_mm == 290
    assert 'instrument = { name = "violin", string_length_mm = 290 } # violin, viola,' in small
