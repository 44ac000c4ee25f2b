"""Random valid drills for property tests: any key, meter, string, climb, on violin and viola.

`drills()` gives Drill values, `scores()` what they become in their key and on their string.
"""

from __future__ import annotations

from fractions import Fraction

from hypothesis import assume
from hypothesis import strategies as st

from playalong.drill.load import parse
from playalong.drill.model import Drill
from playalong.instrument.catalogue import INSTRUMENTS
from playalong.music.key import ALL_KEYS
from playalong.music.meter import NOTE_LENGTHS, Meter
from playalong.score.model import Score
from playalong.score.resolving import UnplayableError
from playalong.score.writing import write

METERS = ("2/4", "3/4", "4/4", "5/4", "6/8", "9/8", "3/8", "7/8", "2/2")
LENGTHS = (Fraction(1), Fraction(1), Fraction(2), Fraction(1, 2), Fraction(3, 2), Fraction(2, 3))
FINGERS = ("1", "2", "3", "4", "1", "2", "3", "4", "0", "r", "2#", "3b", "4n", "1x", "3x", "4x")


@st.composite
def bars(draw: st.DrawFn, length: Fraction, before: str = "", *, plain: bool = False) -> str:
    """One bar of tokens that last `length` plain notes together; `before` is the bar before."""
    words, left = [], length
    while left:
        last = (before.strip("() ").split() + words)[-1:]
        if not plain and last and last[0][0] not in "rp" and draw(st.integers(0, 7)) == 0:
            span = min(left, draw(st.sampled_from(LENGTHS)))
            words.append("_" if span == 1 else f"_*{span}")
            left -= span
            continue
        if draw(st.integers(0, 3)) == 0:
            words.append(f"p{draw(st.integers(1, 6))}:")
        span = min(left, Fraction(1) if plain else draw(st.sampled_from(LENGTHS)))
        if not plain and draw(st.integers(0, 9)) == 0:
            graces = ["g:" + draw(st.sampled_from("1234")) for _ in range(draw(st.integers(1, 2)))]
            words += [*graces, "1" if span == 1 else f"1*{span}"]
            left -= span
            continue
        token = draw(st.sampled_from(FINGERS[:4] if plain else FINGERS))
        mark = draw(st.sampled_from(("", "", "", "-", "~"))) if token not in "0r" else ""
        words.append(mark + token + ("" if span == 1 else f"*{span}"))
        left -= span
    ties_bows = words[0][0] == "_" and "(" in before
    if not plain and not ties_bows and draw(st.booleans()):
        words = ["(", *words, ")"]
    return " ".join(words)


@st.composite
def drill_texts(draw: st.DrawFn, *, plain: bool = False) -> str:
    """TOML of a valid drill; `plain` keeps to stopped, unaltered fingers of one length."""
    instrument = draw(st.sampled_from(("violin", "viola")))
    string = draw(st.sampled_from(INSTRUMENTS[instrument].string_names))
    meter = draw(st.sampled_from(METERS))
    note = draw(st.sampled_from(("quarter", "eighth", "sixteenth")))
    length = Meter.parse(meter).bar / NOTE_LENGTHS[note]
    assume(length.denominator == 1)
    upbeat = Fraction(draw(st.integers(0, int(length) - 1)) if draw(st.booleans()) else 0)
    if upbeat and not plain:
        upbeat *= draw(st.sampled_from((Fraction(1), Fraction(1, 2))))
    written = [draw(bars(upbeat or length, plain=plain))]
    if upbeat or draw(st.booleans()):
        written.append(draw(bars(length - upbeat, written[0], plain=plain)))
    assume(any(word.strip("-~")[0] in "01234" for bar in written for word in bar.split()))
    climb = draw(st.one_of(st.integers(1, 3), st.lists(st.integers(1, 5), min_size=1, max_size=3)))
    return "\n".join(
        (
            'title = "Random"',
            f'instrument = "{instrument}"',
            f'bar = "{" | ".join(written)}"',
            f'strings = ["{string}"]',
            f'keys = ["{draw(st.sampled_from(ALL_KEYS))}"]',
            f'meter = "{meter}"',
            f'note = "{note}"',
            *([f'upbeat = "{upbeat}"'] if upbeat else []),
            f"climb = {climb}",
            f"passes = {draw(st.integers(1, 3))}",
            f"gap = {draw(st.integers(0, 1))}",
            f"tempo = {{ start = {draw(st.integers(40, 208))} }}",
            f'tuning.temperament = "{draw(st.sampled_from(("equal", "pythagorean", "just")))}"',
        )
    )


def drills(*, plain: bool = False) -> st.SearchStrategy[Drill]:
    return drill_texts(plain=plain).map(parse)


@st.composite
def scores(draw: st.DrawFn, *, plain: bool = False) -> Score:
    """A random drill written out; those that a string cannot play are passed over."""
    drill = draw(drills(plain=plain))
    try:
        return write(drill, drill.keys[0], drill.strings[0])
    except UnplayableError:
        assume(False)
        raise
