"""What a player is told of a take, in lines. No score, no rank, no cause in the body."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from itertools import groupby

from playalong.guidance import EITHER, when_to_stop
from playalong.music.temperament import TEMPERAMENT_WORDS
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
    "About these figures: 3 cents are under what most ears tell apart, and the figures themselves "
    "are mostly true to 1 to 3 cents. A note under a quarter of a second is worth half. The moment "
    "of a fresh bow is known to 10 to 40 ms. This was one microphone in one room, and a string "
    "that rings on can pull a note.",
    "Measured on takes put together from recorded notes. Tell your own ear first, then read.",
)
FOOT = (*FIGURES, when_to_stop(EITHER))
LEAKS_MUCH_DB = -12.0


def report(heard: Heard) -> list[str]:
    """All lines of one take."""
    return [*counted(heard), "", *distances(heard), *shifts(heard), *tendencies([heard])]


def counted(heard: Heard) -> list[str]:
    """How much was heard, and against what it was laid and judged."""
    verdicts = Counter(note.verdict for note in heard.notes)
    rest = [
        f"{verdicts[verdict]} {words}"
        for verdict, words in (
            (model.NOT_HEARD, "not heard"),
            (model.ANOTHER, "another note"),
            (model.TOO_SHORT, "too short to judge"),
            (model.UNSTEADY, "too unsteady to judge"),
            (model.OUTSIDE, "not in the recording"),
        )
        if verdicts[verdict]
    ]
    line = f"{verdicts[model.JUDGED]} of {len(heard.notes)} notes heard and judged."
    lines = [f"{line} {', '.join(rest)}." if rest else line]
    placed = [HOW[heard.placed.how]]
    if heard.placed.dropped:
        placed.append(DROPPED)
    if heard.leak_db is not None:
        disturbs = (
            "some notes may be pulled; try headphones"
            if (heard.leak_db > LEAKS_MUCH_DB)
            else "that does not disturb"
        )
        placed.append(f"The track leaked at about {heard.leak_db:.0f} dB; {disturbs}.")
    lines.append(" ".join(placed))
    track = "as the track sounds" if heard.against is None else "not as the track sounds"
    against = TEMPERAMENT_WORDS[heard.against or heard.timeline.temperament]
    lines.append(f"Judged against {against}, A = {heard.timeline.a4_hz:g}, {track}.")
    return lines + list(heard.remarks)


def distances(heard: Heard) -> list[str]:
    found = summary.classes(heard.notes)
    if found.typical_cents is None:
        return []
    typical = f"Typical distance  {found.typical_cents:.0f} cents"
    lines = [
        f"Within 5 cents     {len(found.within_5):3d}       {typical}",
        f"5 to 15 off        {len(found.within_15):3d}",
        f"More than 15 off   {len(found.beyond):3d}       {places(found.beyond)}".rstrip(),
    ]
    others = [note for note in heard.notes if note.verdict == model.ANOTHER]
    if others:
        lines.append(f"Another note       {len(others):3d}       {places(others)}")
    for name, notes in _by_string(summary.open_strings(heard.notes)):
        off = sum(note.cents or 0.0 for note in notes) / len(notes)
        lines.append(f"Open {name} string: {signed(off)} cents; that is how it is tuned.")
    return [*lines, *nearer(heard)]


def _by_string(notes: Iterable[HeardNote]) -> list[tuple[str, list[HeardNote]]]:
    ordered = sorted(notes, key=lambda note: note.note.string or "")
    return [(name, list(each)) for name, each in groupby(ordered, lambda n: n.note.string or "")]


def shifts(heard: Heard) -> list[str]:
    if not heard.shifts:
        return []
    found = summary.landings(heard.shifts)
    parts = [
        f"{len(each)} {words}"
        for each, words in (
            (found.true, "landed true"),
            (found.past, "went past and came back"),
            (found.short, "stopped short"),
        )
        if each
    ]
    lines = ["", f"Shifts   {len(heard.shifts)} heard: {', '.join(parts)}".rstrip(": ")]
    if found.past_cents is not None and found.settled_ms is not None:
        lines.append(
            f"         typical: {found.past_cents:.0f} cents past, "
            f"corrected after {found.settled_ms / 1000:.2f} s"
        )
    return lines


def tendencies(takes: Sequence[Heard]) -> list[str]:
    """What tends one way, and one question for the ear at most."""
    tending = [group for group in summary.groups(takes) if group.tends]
    lines = [group.words for group in tending]
    beyond = [note for heard in takes for note in summary.classes(heard.notes).beyond]
    if beyond:
        bar = Counter(note.note.bar for note in beyond).most_common(1)[0][0]
        lines += [
            "",
            f"A question for the ear: hear bar {bar} on the check track, and judge before the tone "
            "comes. What do you hear?",
        ]
    return lines


def places(notes: Sequence[HeardNote]) -> str:
    """`bar 2 beat 3, bar 4 beats 1 and 3`."""
    parts = []
    by_bar = sorted(notes, key=lambda note: note.note.bar)
    for bar, each in groupby(by_bar, key=lambda note: note.note.bar):
        beats = [f"{beat + 1:g}" for beat in sorted({note.note.beat for note in each})]
        listed = beats[0] if len(beats) == 1 else f"{', '.join(beats[:-1])} and {beats[-1]}"
        parts.append(f"bar {bar} beat{'s' * (len(beats) > 1)} {listed}")
    return ", ".join(parts)


def signed(cents: float) -> str:
    """`+12`, `−8` or `0`."""
    whole = round(cents)
    return f"{whole:+d}".replace("-", "−") if whole else "0"
