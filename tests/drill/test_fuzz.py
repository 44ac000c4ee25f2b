"""No text, however wild, gets anything but a Drill or a told error out of the loader."""

from contextlib import suppress

from hypothesis import given
from hypothesis import strategies as st
from strategies import drill_texts

from playalong.drill.load import parse
from playalong.drill.notation import parse_bars
from playalong.drill.origin import DrillError
from playalong.drill.schema import SETTINGS

NOTATION = st.text(alphabet="01234589rpxbn#♯~-*/()|:!=DAEGCFHz ²٣\t\n", max_size=40)
VALUES = st.one_of(
    st.sampled_from(["1", "-1", "1.5", "nan", "inf", "1e400", "true", "[]", "{}", "[[]]", '""']),
    st.sampled_from(
        ['"tonic"', '"open D"', '"A4"', '"+5%"', '"1/2"', "2020-01-01", "0x" + "f" * 90]
    ),
    st.text(alphabet="ABDab0159#/+%. ", max_size=12).map(lambda text: f'"{text}"'),
    st.text(alphabet='[]{}",=ab1 ', max_size=12),
)
NAMES = st.sampled_from(
    [*SETTINGS, "stage.x.guide", "stage.x", "stage", "tempo", "instrument.name"]
)


@given(NOTATION)
def test_any_bar_text_is_a_pattern_or_a_notation_error(text: str) -> None:
    with suppress(DrillError):
        assert parse_bars(text).events


@given(st.text())
def test_any_unicode_text_is_a_pattern_or_a_notation_error(text: str) -> None:
    with suppress(DrillError):
        parse_bars(text)


@given(st.binary(max_size=200))
def test_any_bytes_are_a_drill_or_a_drill_error(raw: bytes) -> None:
    with suppress(DrillError):
        parse(raw)


@given(st.text(max_size=200))
def test_any_text_is_a_drill_or_a_drill_error(text: str) -> None:
    with suppress(DrillError):
        parse(text)


@given(st.lists(st.tuples(NAMES, VALUES), max_size=4), NOTATION)
def test_any_settings_are_a_drill_or_a_drill_error(
    settings: list[tuple[str, str]], bar: str
) -> None:
    lines = ['title = "x"', 'instrument = "violin"', f"bar = '''{bar}'''"]
    text = "\n".join(lines + [f"{name} = {value}" for name, value in settings])
    with suppress(DrillError):
        parse(text)


@given(drill_texts(), st.integers(0, 300), st.text(alphabet='"=[]#\n x1', max_size=3))
def test_a_good_drill_with_a_slip_of_the_pen_is_a_drill_or_a_drill_error(
    text: str, at: int, slip: str
) -> None:
    with suppress(DrillError):
        parse(text[:at] + slip + text[at + 1 :])
