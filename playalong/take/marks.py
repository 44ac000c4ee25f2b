"""What stands over a note's head: shape first, colour only repeats it."""

from __future__ import annotations

from playalong.instrument.position import finger_words
from playalong.music.pitch import pretty
from playalong.take import model
from playalong.take.model import HeardNote, HeardShift
from playalong.take.summary import FAR_CENTS, TRUE_CENTS, counted, landed
from playalong.take.sweeps import Placed
from playalong.take.words import at_beat, cents_words, signed, written_beat

NAMES = ("C", "C♯", "D", "E♭", "E", "F", "F♯", "G", "G♯", "A", "B♭", "B")
IN_TIME_SECONDS = 0.02
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
        octaves = round((heard.cents or 0.0) / 1200)
        is_octave = octaves and abs((heard.cents or 0.0) - 1200 * octaves) < model.SAME_NOTE_CENTS
        side = "above" if octaves > 0 else "below"
        how = f", {counted(abs(octaves), 'octave')} {side}" if is_octave else ""
        return f"another note, {sounding_name(heard)}{how}"
    if heard.verdict != model.JUDGED or heard.cents is None:
        return heard.verdict
    vibrato = heard.vibrato_cents or 0.0
    widely = f", vibrato {counted(vibrato, 'cent')} to each side" if vibrato else ""
    return f"{cents_words(heard.cents)}{widely}"


def came(shift: HeardShift, heard: HeardNote, placed: Placed) -> list[str]:
    """`arrived 0.07 s early`, `14 cents past`: when and how a shift came into its note."""
    late = shift.arrival_ms / 1000
    sides = (
        ("later than most", "earlier than most") if placed.how == "playing" else ("late", "early")
    )
    side = sides[late < 0]
    is_in_time = abs(late) < IN_TIME_SECONDS
    moment = "arrived in time" if is_in_time else f"arrived {abs(late):.2f} s {side}"
    over = abs(shift.overshoot_cents or 0.0)
    landing = {
        "true": "landed true",
        "stayed": "landed there and stayed",
        "past": f"{counted(over, 'cent')} past, then back",
        "short": f"{counted(over, 'cent')} short, then on",
    }.get(landed(shift, heard.cents or 0.0))
    return [*([] if placed.dropped else [moment]), *([landing] if landing else [])]


def name(heard: HeardNote) -> str:
    """`Bar 2 beat 1, pass 2, F♯4, finger 2, position 1`; the first pass is not named."""
    note = heard.note
    is_upbeat = written_beat(note) < 0
    parts = [f"Upbeat to bar {note.bar}" if is_upbeat else f"Bar {note.bar} beat {at_beat(note)}"]
    if note.pass_number > 1:
        parts.append(f"pass {note.pass_number}")
    parts.append(pretty(note.pitch))
    if note.finger is not None:
        parts.append(finger_words(note.finger) if note.finger else "open string")
    if note.finger and note.position is not None:
        parts.append(f"position {note.position}" if note.position else "half position")
    return ", ".join(parts)
