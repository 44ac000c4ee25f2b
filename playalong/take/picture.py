"""Pitch over time: every note against its own target, so that a few cents can be seen."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape

from playalong.instrument.position import finger_name
from playalong.music.pitch import pretty
from playalong.take.marks import kind, sign
from playalong.take.model import Heard, HeardNote, HeardShift
from playalong.take.summary import LANDED_CENTS, TRUE_CENTS
from playalong.take.words import signed, written_beat

SECOND = 110  # units across
CENT = 2.2  # units up
HIGHEST_CENTS = 55
TOP, BOTTOM = 58, 54  # for bars and marks, and for names
BAR_Y, MARK_Y = 16, 46
LANDING_SECONDS = 0.05


def picture(heard: Heard) -> str:
    """An SVG whose x is seconds of the track, `SECOND` units each, from the first note on."""
    notes = [each for each in heard.notes if each.note is not None]
    start = min(each.note.from_seconds for each in notes) - 0.5
    end = max(each.note.to_seconds for each in notes) + 0.5
    middle = TOP + HIGHEST_CENTS * CENT
    height = round(middle + HIGHEST_CENTS * CENT + BOTTOM)
    width = round((end - start) * SECOND)
    shifts = {shift.into: shift for shift in heard.shifts}
    parts = list(_bars(notes, start, height))
    parts += [part for each in notes for part in _note(each, shifts.get(each.index), start, middle)]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" id="curve" viewBox="0 0 {width} {height}" '
        f'width="{width}" height="{height}" data-start="{start:.4f}" data-second="{SECOND}" '
        f'aria-hidden="true">{"".join(parts)}'
        f'<line id="now" x1="-9" x2="-9" y1="0" y2="{height}"/></svg>'
    )


def _bars(notes: Sequence[HeardNote], start: float, height: int) -> Iterator[str]:
    """A line where each bar begins, and its number."""
    known: set[tuple[int, int]] = set()
    for each in notes:
        bar = (each.note.pass_number, each.note.bar)
        if bar in known or written_beat(each.note) < 0:
            continue
        known.add(bar)
        x = (each.note.from_seconds - start) * SECOND
        again = f", pass {each.note.pass_number}" if each.note.pass_number > 1 else ""
        yield f'<path class="line" d="M{x:.1f} 0V{height}"/>'
        told = f"bar {each.note.bar}{again}"
        yield f'<text class="soft bar" x="{x + 4:.1f}" y="{BAR_Y}">{told}</text>'


def _note(heard: HeardNote, shift: HeardShift | None, start: float, middle: float) -> Iterator[str]:
    left = (heard.note.from_seconds - start) * SECOND
    wide = (heard.note.to_seconds - heard.note.from_seconds) * SECOND
    low = middle + HIGHEST_CENTS * CENT
    yield f'<g data-note="{heard.index}" class="{kind(heard)}">'
    yield (
        f'<rect class="place" x="{left:.1f}" y="0" width="{wide:.1f}" height="{low + BOTTOM:.0f}"/>'
    )
    band = TRUE_CENTS * CENT
    yield (
        f'<rect class="band" x="{left:.1f}" y="{middle - band:.1f}" width="{wide:.1f}" '
        f'height="{2 * band:.1f}"/>'
    )
    yield f'<path class="target" d="M{left:.1f} {middle:.1f}h{wide:.1f}"/>'
    yield from _heard(heard, start, middle)
    if shift and shift.overshoot_cents is not None and abs(shift.overshoot_cents) > LANDED_CENTS:
        yield from _hook(heard, shift, start, middle)
    centre = left + wide / 2
    mark = sign(heard)
    if mark:
        yield f'<text class="mark" x="{centre:.1f}" y="{MARK_Y}">{escape(mark)}</text>'
    name = pretty(heard.note.pitch)
    yield f'<text x="{centre:.1f}" y="{low + 20:.1f}">{escape(name)}</text>'
    if heard.note.finger is not None:
        finger = finger_name(heard.note.finger)
        yield f'<text class="soft" x="{centre:.1f}" y="{low + 42:.1f}">{finger}</text>'
    yield "</g>"


def _heard(heard: HeardNote, start: float, middle: float) -> Iterator[str]:
    """The curve, broken where it leaves the picture; a vibrato's centre thick."""
    lines, pen = "", "M"
    for seconds, cents in heard.curve:
        if abs(cents) > HIGHEST_CENTS:
            pen = "M"
            continue
        lines += f"{pen}{(seconds - start) * SECOND:.1f} {middle - cents * CENT:.1f}"
        pen = "L"
    if lines:
        thin = " thin" if heard.vibrato_cents else ""
        dashed = "" if heard.judged else " dashed"
        yield f'<path class="heard{thin}{dashed}" d="{lines}"/>'
    if heard.vibrato_cents and heard.judged and heard.from_seconds and heard.to_seconds:
        y = middle - min(max(heard.cents or 0, -HIGHEST_CENTS), HIGHEST_CENTS) * CENT
        left, right = ((each - start) * SECOND for each in (heard.from_seconds, heard.to_seconds))
        yield f'<path class="heard" d="M{left:.1f} {y:.1f}H{right:.1f}"/>'


def _hook(heard: HeardNote, shift: HeardShift, start: float, middle: float) -> Iterator[str]:
    """Where a shift went past its note, or stopped short of it."""
    slide = heard.note.slide
    if slide is None or shift.overshoot_cents is None:
        return
    way = 1 if slide.to_hz > slide.from_hz else -1
    cents = (heard.cents or 0.0) + way * shift.overshoot_cents
    cents = min(max(cents, -HIGHEST_CENTS), HIGHEST_CENTS)
    at = heard.note.from_seconds + shift.arrival_ms / 1000 + LANDING_SECONDS - start
    x, y = at * SECOND, middle - cents * CENT
    rise = -6 if cents > (heard.cents or 0.0) else 6
    yield f'<path class="hook" d="M{x - 7:.1f} {y:.1f}q7 {2 * rise} 14 0"/>'
    told = signed(shift.overshoot_cents)
    yield f'<text class="hook" x="{x:.1f}" y="{y + (16 if rise > 0 else -9):.1f}">{told}</text>'
