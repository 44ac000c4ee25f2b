"""What a player is told of a take, in lines. No score, no rank, no cause in the body."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby
from math import inf

from playalong.guidance import EITHER, when_to_stop
from playalong.music.temperament import TEMPERAMENT_WORDS
from playalong.performance.timeline import TimelineNote
from playalong.take import model, summary
from playalong.take.against import nearer
from playalong.take.model import Heard, HeardNote

HOW = {
    "both": "Laid against the track by its sweeps.",
    "count-in": "Laid against the track by the sweeps that count in; those that close were not "
    "heard, so a difference between the clocks is not taken out.",
    "close": "Laid against the track by the sweeps that close it; the count-in is not in the "
    "recording.",
    "playing": "Nothing of the track is heard (headphones), so it is laid against what you "
    "played: how late everything was cannot be known, only which notes came earlier or later "
    "than the others.",
}
DROPPED = "Sound is missing from the recording, so no moments are told, only pitches."
FIGURES = (
    "About these figures: most ears do not tell 3 cents apart, and the figures themselves are "
    "mostly true to 1 to 3 cents; those of notes under a quarter of a second are half as sure. The "
    "moment of a fresh bow is known to 10 to 40 ms. This was one microphone in one room, and a "
    "string that rings on can pull a note.",
    "They were measured on takes put together from recorded notes, not yet on a player with a "
    "phone. Ask your own ear first, then read.",
)
ONLY_TRACK = (
    "Nothing but the track is heard. If you played, look which microphone was recorded, and how "
    "far from you it stood."
)
UNSURE_STAGE = (
    "The track is too soft in the recording to tell which of its stages this was; all of them ask "
    "for the same notes."
)
MOST_GRACES = 8
MOST_PLACES = 6  # that are named beat by beat
FOOT = (*FIGURES, when_to_stop(EITHER))
PARTS = {  # of a beat
    "": 0.0, "½": 1 / 2, "⅓": 1 / 3, "⅔": 2 / 3, "¼": 1 / 4, "¾": 3 / 4, "⅙": 1 / 6, "⅚": 5 / 6,
    "⅛": 1 / 8, "⅜": 3 / 8, "⅝": 5 / 8, "⅞": 7 / 8,
}  # fmt: skip
# What a leak of so many dB does; louder than the last, 3 of 10 notes of takes whose truth is known
# were taken for the track's own.
LEAKS = (
    (-12.0, "that does not disturb"),
    (-4.0, "some notes may be pulled; try headphones"),
    (inf, "some notes may be taken for the track's own; play it softer, or use headphones"),
)


def report(heard: Heard) -> list[str]:
    """All lines of one take."""
    found = [*distances(heard), *shifts(heard), *tendencies([heard])]
    return [*counted(heard), *(["", *found] if found else [])]


def counted(heard: Heard) -> list[str]:
    """How much was heard, and against what it was laid and judged."""
    verdicts = Counter(note.verdict for note in heard.notes)
    rest = [
        f"{verdicts[verdict]} {words}"
        for verdict, words in (
            (model.NOT_HEARD, "not heard"),
            (model.ANOTHER, "another note" if verdicts[model.ANOTHER] == 1 else "other notes"),
            (model.TOO_SHORT, "too short to judge"),
            (model.UNSTEADY, "too unsteady to judge"),
            (model.OUTSIDE, "not in the recording"),
        )
        if verdicts[verdict]
    ]
    line = f"{verdicts[model.JUDGED]} of {len(heard.notes)} notes heard and judged."
    lines = [f"{line} {', '.join(rest)}." if rest else line]
    if verdicts[model.NOT_HEARD] and not any(note.heard for note in heard.notes):
        lines.append(ONLY_TRACK)
    placed = [HOW[heard.placed.how]]
    if heard.placed.dropped:
        placed.append(DROPPED)
    if heard.leak_db is not None:
        does = next(words for most_db, words in LEAKS if heard.leak_db <= most_db)
        placed.append(f"The track leaked at about {signed(heard.leak_db)} dB; {does}.")
    lines.append(" ".join(placed))
    track = "as the track sounds" if heard.against is None else "not as the track sounds"
    against = TEMPERAMENT_WORDS[heard.against or heard.timeline.temperament]
    lines.append(f"Judged against {against}, A = {heard.timeline.a4_hz:g}, {track}.")
    return lines + list(heard.remarks)


@dataclass(frozen=True)
class Row:
    """How many notes are told alike, and what more there is to say of them."""

    name: str
    count: int
    told: str = ""

    @property
    def line(self) -> str:
        return f"{self.name:18} {self.count:3d}       {self.told}".rstrip()


def rows(heard: Heard) -> list[Row]:
    """How far off the notes lie."""
    found = summary.classes(heard.notes)
    others = [note for note in heard.notes if note.verdict == model.ANOTHER]
    told = []
    if found.typical_cents is not None:
        typical = f"Typical distance  {summary.counted(found.typical_cents, 'cent')}"
        told = [
            Row(summary.WITHIN.capitalize(), len(found.within_5), typical),
            Row(summary.OFF, len(found.within_15)),
            Row(summary.FAR.capitalize(), len(found.beyond), places(found.beyond)),
        ]
    return [*told, *([Row("Another note", len(others), places(others))] if others else [])]


def strings(heard: Heard) -> list[str]:
    """How the open strings are tuned, and which temperament is nearer."""
    lines = []
    for name, notes in _by_string(summary.open_strings(heard.notes)):
        off = sum(note.cents or 0.0 for note in notes) / len(notes)
        lines.append(f"Open {name} string: {cents_words(off)}; that is how it is tuned.")
    return [*lines, *nearer(heard)]


def distances(heard: Heard) -> list[str]:
    return [*(row.line for row in rows(heard)), *strings(heard)]


def _by_string(notes: Iterable[HeardNote]) -> list[tuple[str, list[HeardNote]]]:
    ordered = sorted(notes, key=lambda note: note.note.string or "")
    return [(name, list(each)) for name, each in groupby(ordered, lambda n: n.note.string or "")]


def shifts(heard: Heard) -> list[str]:
    lines = shift_lines(heard)
    return (
        ["", f"Shifts   {lines[0]}", *(f"         {line}" for line in lines[1:])] if lines else []
    )


def shift_lines(heard: Heard) -> list[str]:
    """How the shifts came in, and by how much those that did not land at once were off."""
    if not heard.shifts:
        return []
    found = summary.landings(heard)
    parts = [
        f"{len(each)} {words}"
        for each, words in (
            (found.true, "landed true"),
            (found.stayed, "landed off the note and stayed"),
            (found.past, "went past and came back"),
            (found.short, "stopped short"),
            (found.unknown, "cannot be told"),
        )
        if each
    ]
    lines = [f"{len(heard.shifts)} heard: {', '.join(parts)}"]
    if found.past_cents is not None:
        came_back = (
            "" if found.settled_ms is None else f", corrected after {found.settled_ms / 1000:.2f} s"
        )
        lines.append(_typical(len(found.past), found.past_cents, "past") + came_back)
    if found.short_cents is not None:
        lines.append(_typical(len(found.short), found.short_cents, "short"))
    return lines


def _typical(count: int, cents: float, side: str) -> str:
    typical = "typical: " if count > 1 else ""
    return f"{typical}{summary.counted(cents, 'cent')} {side}"


def tendencies(takes: Sequence[Heard]) -> list[str]:
    """What tends one way, and one question for the ear at most."""
    lines = [group.words for group in summary.groups(takes) if group.tends]
    asked = question(takes)
    return [*lines, "", asked] if asked else lines


def question(takes: Sequence[Heard]) -> str | None:
    """For the ear, about the bar in which most notes lie far off."""
    far = [
        (heard, note.note.bar) for heard in takes for note in summary.classes(heard.notes).beyond
    ]
    if not far:
        return None
    bar = Counter(bar for _, bar in far).most_common(1)[0][0]
    has_check = all(heard.has_check for heard, of in far if of == bar)
    do = (
        f"hear bar {bar} on the check track, and judge before the tone comes"
        if has_check
        else f"play bar {bar} slowly, and judge each note before you go on"
    )
    return f"A question for the ear: {do}. What do you hear?"


def places(notes: Sequence[HeardNote]) -> str:
    """`bar 2 beat 3, bar 4 beats 1 and 3`; where they are many, only the bars."""
    found = sorted({(each.note.bar, written_beat(each.note), at_beat(each.note)) for each in notes})
    if len(found) > MOST_PLACES:
        bars = sorted({bar for bar, _, _ in found})
        return f"bar{'s' * (len(bars) > 1)} {_listed(_runs(bars))}"
    parts = []
    for (bar, inside), each in groupby(found, key=lambda place: (place[0], place[1] >= 0)):
        beats = [beat for _, _, beat in each]
        at = f" beat{'s' * (len(beats) > 1)} {_listed(beats)}"
        parts.append(f"bar {bar}{at}" if inside else f"upbeat to bar {bar}")
    return ", ".join(parts)


def written_beat(note: TimelineNote) -> float:
    """From the bar line; of a grace note that of its note, a 64th later for each before it."""
    if not note.grace:
        return note.beat
    later = (note.beat + count / 64 for count in range(1, MOST_GRACES + 1))
    return next((beat for beat in later if _sign(beat) is not None), note.beat)


def at_beat(note: TimelineNote) -> str:
    """`1`, `2½`, or `1 (grace note)`."""
    beat = written_beat(note) + 1
    sign = _sign(beat)
    told = f"{beat:.2f}" if sign is None else f"{round(beat - PARTS[sign])}{sign}"
    return f"{told} (grace note)" if note.grace else told


def _sign(beat: float) -> str | None:
    """Of what a beat is more than a whole one; None where there is no sign for it."""
    return next((sign for sign, part in PARTS.items() if abs(beat % 1 - part) < 1e-3), None)


def _listed(words: Sequence[str]) -> str:
    """`1, 3 and 4`."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _runs(numbers: Sequence[int]) -> list[str]:
    """`1 to 4`, `7`: those that follow each other as one."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and runs[-1][-1] == number - 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    told: list[str] = []
    for run in runs:
        told += [f"{run[0]} to {run[-1]}"] if len(run) > 2 else [str(each) for each in run]
    return told


def cents_words(cents: float) -> str:
    """`+12 cents`, `−1 cent`, `0 cents`."""
    return f"{signed(cents)} cent{'' if abs(round(cents)) == 1 else 's'}"


def signed(cents: float) -> str:
    """`+12`, `−8` or `0`."""
    whole = round(cents)
    return f"{whole:+d}".replace("-", "−") if whole else "0"
