"""What `explain` tells, as text for reading."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from playalong.instrument.shift import Kind
from playalong.score.explanation import OpenString, Twin

FORM_WORDS = {
    "rising": "raised, since the line goes up",
    "falling": "by the signature, since the line goes down",
}


def explanation_text(data: dict[str, Any]) -> str:
    """The data of `explain` bar by bar, in ASCII pitch names."""
    return "\n".join(_lines(data)) + "\n"


def _lines(data: dict[str, Any]) -> Iterator[str]:
    on = f", {data['string']} string" if data["string"] else ""
    yield f"{data['title']}: {data['instrument']}{on}, {data['key']}, {data['meter']}"
    for bar in data["bars"]:
        yield ""
        twin = f": {Twin(**bar['as_bar']).words}" if bar["as_bar"] else ""
        yield f"bar {bar['bar']}{twin}"
        yield from _bar_lines(bar)
    if data["turns"]:
        yield ""
        yield "back to the start of the bar, for the next pass"
        for shift in data["turns"]:
            yield f"  bar {shift['bar']}: {_shift_words(shift)}"
    yield from _string_lines(data["open_strings"])
    for title in ("warnings", "left_out"):
        if data[title]:
            yield ""
            yield title.replace("_", " ")
            yield from (f"  {told}" for told in data[title])


def _bar_lines(bar: dict[str, Any]) -> Iterator[str]:
    """Notes of one hand on a line, a shift on a line of its own between."""
    shifts = {shift["beat"]: shift for shift in bar["shifts"]}
    line: list[str] = []
    for number, note in enumerate(bar["notes"]):
        shift = shifts.get(note["beat"])
        if shift:
            if line:
                yield " ".join(line)
            yield f"    -> {_shift_words(shift)}"
        if shift or not line:
            line = [_hand(note)]
        elif number:
            line.append(f"- {bar['steps'][number - 1]['name']} -")
        line.append(_head(note))
    yield " ".join(line)
    yield from _form_line(bar["notes"])


def _form_line(notes: Sequence[dict[str, Any]]) -> Iterator[str]:
    """Which form of a melodic minor the line takes, where it meets a sixth or a seventh."""
    told = []
    for form, words in FORM_WORDS.items():
        pitches = dict.fromkeys(note["pitch"] for note in notes if note["form"] == form)
        told += [f"{' '.join(pitches)} {words}"] if pitches else []
    if told:
        yield f"    sixth and seventh: {'; '.join(told)}"


def _hand(note: dict[str, Any]) -> str:
    words = [f"{note['string']} string" if note["string"] else ""]
    words.append("" if note["position"] is None else f"position {note['position']}")
    return "  " + f"{', '.join(filter(None, words)):<22}"


def _head(note: dict[str, Any]) -> str:
    finger = "" if note["finger"] is None else f" ({note['finger'] or 'open'})"
    return f"{note['pitch']}{finger}"


def _shift_words(shift: dict[str, Any]) -> str:
    to = "" if shift["to_position"] is None else f" to position {shift['to_position']}"
    way = f"{shift['from_place']} to {shift['to_place']}"
    finger = "" if shift["finger"] is None else f"finger {shift['finger']} "
    who = f"{finger}travels" if finger else "along the string"
    mm = "" if shift["travel_mm"] is None else f", {who} {shift['travel_mm']:.0f} mm"
    ghost = f", ghost note {shift['ghost']}" if shift["ghost"] else ""
    if ghost and shift["kind"] == Kind.EXCHANGE:
        ghost += " (not sounded)"
    named = shift["kind"] if shift["kind"] == Kind.HALF_STEP else f"shift{to}, {shift['kind']}"
    if shift["kind"] == Kind.SLIDE:
        named = "slide"
    return f"{named}: {finger}{way}, {shift['interval']} {shift['direction']}{ghost}{mm}"


def _string_lines(strings: Sequence[dict[str, Any]]) -> Iterator[str]:
    told = []
    for each in strings:
        string, letter = OpenString.of(each), each["degree"][:-1]
        if not string.in_key:
            told.append(f"  open {string.name} is not in the key, which has {letter}")
        elif string.apart:
            told.append(f"  open {string.name} stands {string.apart} the key's {letter}")
    if strings:
        yield ""
        yield "open strings"
        yield from told or ["  in tune with the key"]
