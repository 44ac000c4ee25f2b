"""What stands over a note's head: shape first, colour only repeats it."""

from __future__ import annotations

from playalong.instrument.position import finger_words
from playalong.music.pitch import pretty
from playalong.take import model
from playalong.take.model import HeardNote
from playalong.take.summary import FAR_CENTS, TRUE_CENTS
from playalong.take.words import signed

NAMES = ("C", "C♯", "D", "E♭", "E", "F", "F♯", "G", "G♯", "A", "B♭", "B")
TRUE, OFF, FAR, UNKNOWN = "true", "off", "far", "unknown"  # classes


def sign(heard: HeardNote) -> str:
    """`+12↑`, `−20⇊`, `?` not judged, `( )` not heard, the name of another note; true ones none."""
    if heard.verdict == model.NOT_HEARD:
        return "( )"
    if heard.verdict == model.ANOTHER:
        return sounding_name(heard)
    if heard.verdict != model.JUDGED or heard.cents is None:
        return "?" if heard.heard else ""
    off = abs(heard.cents)
    if off <= TRUE_CENTS:
        return ""
    arrows = "↑↓" if off <= FAR_CENTS else "⇈⇊"
    return f"{signed(heard.cents)}{arrows[heard.cents < 0]}"


def kind(heard: HeardNote) -> str:
    """How far off, as a class for a style sheet."""
    if heard.verdict != model.JUDGED or heard.cents is None:
        return UNKNOWN
    off = abs(heard.cents)
    return TRUE if off <= TRUE_CENTS else OFF if off <= FAR_CENTS else FAR


def sounding_name(heard: HeardNote) -> str:
    """The nearest note of twelve to what was played instead."""
    from playalong.music.pitch import Pitch

    assert heard.cents is not None
    key_number = Pitch.of(heard.note.pitch).key_number + round(heard.cents / 100)
    return f"{NAMES[key_number % 12]}{key_number // 12 - 1}"


def told(heard: HeardNote) -> str:
    """The same in words, for those who listen to a page."""
    if heard.verdict == model.ANOTHER:
        return f"another note, {sounding_name(heard)}"
    if heard.verdict != model.JUDGED or heard.cents is None:
        return heard.verdict
    vibrato = heard.vibrato_cents or 0.0
    widely = f", vibrato {vibrato:.0f} cents to each side" if vibrato else ""
    return f"{signed(heard.cents)} cents{widely}"


def name(heard: HeardNote) -> str:
    """`Bar 2 beat 1, pass 2, F♯4, finger 2, position 1`; the first pass is not named."""
    note = heard.note
    upbeat = f"Upbeat to bar {note.bar}"
    parts = [f"Bar {note.bar} beat {note.beat + 1:g}" if note.beat >= 0 else upbeat]
    if note.pass_number > 1:
        parts.append(f"pass {note.pass_number}")
    parts.append(pretty(note.pitch))
    if note.finger is not None:
        parts.append(finger_words(note.finger) if note.finger else "open string")
    if note.finger and note.position is not None:
        parts.append(f"position {note.position}" if note.position else "half position")
    return ", ".join(parts)
