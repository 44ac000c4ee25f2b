"""What a drill asks of the hand, as text for reading: at length, or a line for each bar."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from playalong.instrument.position import finger_name, finger_words
from playalong.instrument.shift import FINGERS_STAY, NO_SHIFT, Kind, Travel
from playalong.music.interval import step_name
from playalong.music.key import Key
from playalong.score.explanation import (
    as_read,
    bars_of,
    direction,
    form_of,
    open_strings,
    step_words,
    turns,
    twins,
)
from playalong.score.model import Note, Score

FORM_WORDS = {
    "rising": "raised, since the line goes up",
    "falling": "by the signature, since the line goes down",
}


def explanation_text(score: Score) -> str:
    """The drill bar by bar, in ASCII pitch names."""
    return "\n".join(_lines(score)) + "\n"


def brief_text(score: Score) -> str:
    """A line for each bar with its notes and shifts; then the warnings."""
    return "\n".join(_brief_lines(score)) + "\n"


def _lines(score: Score) -> Iterator[str]:
    twin = twins(score)
    yield _title(score)
    yield from _sounding_line(score)
    before = score.drill.meter, score.key
    for bar in bars_of(score):
        yield ""
        here = score.bar_of(bar.notes[0]).meter, score.key_of(bar.notes[0])
        new = [str(new) for new, old in zip(here, before, strict=True) if new != old]
        before = here
        told = f": {twin[bar.number].words}" if bar.number in twin and not bar.upbeat else ""
        yield f"{', '.join([bar.name, *new])}{told}"
        notes = [as_read(score, note) for note in bar.notes]
        yield from _bar_lines(score, notes)
        if score.instrument.transposition.changes_letters:
            yield f"    sounds: {' '.join(note.pitch.name for note in bar.notes)}"
    back = [as_read(score, note) for note in turns(score)]
    if back:
        yield ""
        yield "back to the beginning, for the next pass"
        for note in back:
            if note.arrival:
                yield f"  bar {note.bar}: {_shift_words(note, note.arrival, score.key)}"
    yield from _string_lines(score)
    yield from _told("warnings", score.warnings)
    yield from _told("left out", score.left_out)


def _title(score: Score) -> str:
    drill = score.drill
    on = f", {score.string} string" if score.string else ""
    return f"{drill.title}: {score.instrument.full_name}{on}, {score.key}, {drill.meter}"


def _sounding_line(score: Score) -> Iterator[str]:
    """What a transposing instrument sounds, against what its player reads."""
    sounds, key = score.instrument.transposition.words, score.board.sounding_key
    if sounds:
        yield f"sounds {sounds} than it is written" + (f", in {key}" if key != score.key else "")


def _told(heading: str, lines: Sequence[str]) -> Iterator[str]:
    if lines:
        yield ""
        yield heading
        yield from (f"  {line}" for line in lines)


def _bar_lines(score: Score, notes: Sequence[Note]) -> Iterator[str]:
    """Notes of one hand on one string on a line, a shift on a line of its own between."""
    key = score.key_of(notes[0])
    line: list[str] = []
    for number, note in enumerate(notes):
        if note.arrival:
            if line:
                yield " ".join(line)
            yield f"    -> {_shift_words(note, note.arrival, key)}"
        crosses = bool(line) and note.string != notes[number - 1].string
        if crosses and not note.arrival:
            line.append(f"- {step_words(notes[number - 1], note)} -")
            yield " ".join(line)
        if note.arrival or crosses or not line:
            line = [_hand(score, note)]
        elif number:
            line.append(f"- {step_words(notes[number - 1], note)} -")
        line.append(_head(note))
    yield " ".join(line)
    yield from _form_line(notes, key)


def _form_line(notes: Sequence[Note], key: Key) -> Iterator[str]:
    """Which form of a melodic minor the line takes, where it meets a sixth or a seventh."""
    told = []
    for form, words in FORM_WORDS.items():
        pitches = dict.fromkeys(
            note.pitch.name for note in notes if form_of(key, note.pitch) == form
        )
        told += [f"{' '.join(pitches)} {words}"] if pitches else []
    if told:
        yield f"    sixth and seventh: {'; '.join(told)}"


def _hand(score: Score, note: Note) -> str:
    words = [f"{note.string} string" if note.string else ""]
    if note.stop:
        beside = score.named(note).beside
        words.append(note.stop.position.words + (f" ({beside})" if beside else ""))
    return "  " + f"{', '.join(filter(None, words)):<22}"


def _head(note: Note) -> str:
    name = f"{'grace ' if note.is_grace else ''}{note.pitch}"
    if note.finger is None:
        return name
    finger = finger_name(note.finger) if note.finger else "open"
    touched = f", touched at {note.touched.place}" if note.touched else ""
    return f"{name} ({finger}{touched})"


def _shift_words(note: Note, travel: Travel, key: Key) -> str:
    to = "" if note.position is None else f" to {note.position.words}"
    named = f"shift{to}, {travel.kind}"
    if travel.kind is Kind.HALF_STEP:
        named = travel.kind.value
    if travel.kind is Kind.SLIDE:
        named = "slide"
    ghost = f", ghost note {travel.ghost}" if travel.ghost else ""
    if travel.ghost and travel.ghost not in (
        key.pitch(travel.ghost.index),
        key.rising.pitch(travel.ghost.index),
    ):
        ghost += f", which is not in {key}"
    if ghost and travel.kind is Kind.EXCHANGE:
        ghost += " (not sounded)"
    return ", ".join([f"{named}: {_way_words(travel)}{ghost}", *_lengths(travel)])


def _way_words(travel: Travel) -> str:
    """What goes from where to where, and how far that is for the ear."""
    finger = "" if travel.finger is None else f"{finger_words(travel.finger)} "
    if travel.kind is Kind.HAND_FOLLOWS and travel.start.key_number == travel.end.key_number:
        return f"{finger}stays on {travel.start}"
    interval = step_name(travel.start, travel.end)
    return f"{finger}{travel.start} to {travel.end}, {interval} {direction(travel)}"


def _lengths(travel: Travel) -> Iterator[str]:
    """How far the hand travels, and what slides where that is another length."""
    slid, hand = travel.travel_mm, travel.hand_travel_mm
    if hand:
        yield f"the hand travels {hand:.0f} mm"
        who = "the slide" if travel.finger is None else finger_words(travel.finger)
    else:
        who = (
            "along the string"
            if travel.finger is None
            else f"{finger_words(travel.finger)} travels"
        )
    if slid is None or (hand and (travel.kind in FINGERS_STAY or f"{slid:.0f}" == f"{hand:.0f}")):
        return
    yield f"{who} {slid:.0f} mm"


def _string_lines(score: Score) -> Iterator[str]:
    told = []
    strings = open_strings(score)
    for string in strings:
        letter = string.degree.name[:-1]
        if not string.in_key:
            told.append(f"  open {string.name} is not in the key, which has {letter}")
        elif string.apart:
            told.append(f"  open {string.name} stands {string.apart} the key's {letter}")
    if strings:
        yield ""
        yield "open strings"
        yield from told or ["  all are notes of the key, at its pitch"]


def _brief_lines(score: Score) -> Iterator[str]:
    yield _title(score)
    yield from _sounding_line(score)
    back = {note.stand: note for note in turns(score) if note.is_landing}
    bars = bars_of(score)
    for index, bar in enumerate(bars):
        line = [f"{bar.name}:"]
        for place, note in enumerate(bar.notes):
            if note.arrival and note.is_landing:
                line.append(_brief_shift("->", note, note.arrival))
            elif not place and note.position is not None:
                line.append(note.position.written)
            line.append(as_read(score, note).pitch.name)
        stand = bar.notes[-1].stand
        ends = index + 1 == len(bars) or bars[index + 1].notes[0].stand != stand
        if ends and stand in back and (travel := back[stand].arrival):
            line.append(_brief_shift("-> back", back[stand], travel))
        yield " ".join(line)
    yield from (f"warning: {line}" for line in score.warnings)
    yield from (f"left out: {line}" for line in score.left_out)


def _brief_shift(arrow: str, note: Note, travel: Travel) -> str:
    stays = travel.kind in NO_SHIFT
    position = "" if note.position is None or stays else f" {note.position.written}"
    mm = "" if travel.told_mm is None else f", {travel.told_mm:.0f} mm"
    return f"{arrow}{position} ({travel.kind}{mm})"
