"""A MIDI file to parts: the bars that readers of scores give, as far as MIDI knows them.

A part is what one track plays on one channel. Bars follow from the meters; letters are chosen by a
key; notes that reach over a bar line are tied there.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Generic, TypeVar

from playalong.music.key import Key, parse_key
from playalong.music.meter import Meter
from playalong.passage.midi_file import MidiFile, midi_file
from playalong.passage.midi_grid import Placed, placed
from playalong.passage.model import Keep, Part, PartName, PassageError, ScoreBar, ScoreNote
from playalong.passage.spelling import spelled
from playalong.passage.xml_events import MOST_BARS

LACKS = (
    "MIDI has no letters, slurs, bows or fingers: letters are chosen by the key, and where a note "
    "is let go of early stands a rest"
)
MOVED = "onsets off the grid, laid on the nearest sixteenth or triplet"
PERCUSSION = 9  # channel 10 as people count (General MIDI 1)
DEFAULT_METER = (4, 4)
CHANGE_PARTS = 16  # of a quarter, that changes of meter and key are laid on
MOST_HEADS = 60_000
_Value = TypeVar("_Value")


class _Changes(Generic[_Value]):
    """What is in force from where on, in quarters; laid where a bar line may stand."""

    def __init__(self, by_tick: Mapping[int, _Value], ticks: int) -> None:
        changes = {
            Fraction(round(Fraction(tick * CHANGE_PARTS, ticks)), CHANGE_PARTS): value
            for tick, value in sorted(by_tick.items())
        }
        self.places, self.values = list(changes), list(changes.values())

    def at(self, place: Fraction) -> _Value | None:
        """What was last changed to; before the first change, that one."""
        last = max(bisect_right(self.places, place) - 1, 0)
        return self.values[last] if self.values else None

    def after(self, place: Fraction) -> list[Fraction]:
        """Where the next change is, if there is one."""
        following = bisect_right(self.places, place)
        return self.places[following : following + 1]

    def within(self, start: Fraction, stop: Fraction) -> _Value | None:
        """The first that is changed to from `start` on and before `stop`."""
        place = bisect_left(self.places, start)
        is_within = place < len(self.places) and self.places[place] < stop
        return self.values[place] if is_within else None


def read_midi(data: bytes, keep: Keep, key: Key | None) -> tuple[Part, ...]:
    """The parts that `keep` keeps. `key` names the letters; None takes the file's own signatures,
    and where it has none either, bars have no signature and letters are those of C major."""
    file = midi_file(data)
    names = [
        PartName(number, str(number), track.title) for number, track in enumerate(file.tracks, 1)
    ]
    kept = keep(tuple(names))
    chosen = [
        (name, track, placed(track.notes, file.ticks))
        for name, track in zip(names, file.tracks, strict=True)
        if name in kept
    ]
    end = max((note.end for _, _, notes in chosen for note in notes), default=Fraction(0))
    bars = _bars(file, end, key)
    return tuple(
        Part(
            name,
            tuple(_filled(bars, notes, is_percussion=track.channel == PERCUSSION)),
            file.title,
            (LACKS,),
        )
        for name, track, notes in chosen
    )


def _bars(file: MidiFile, end: Fraction, key: Key | None) -> dict[Fraction, ScoreBar]:
    """Bars by where they begin, to the end of the music and without its notes; a meter that changes
    within a bar ends it there."""
    meters = _Changes({0: DEFAULT_METER, **file.meters}, file.ticks)
    keys = _Changes({tick: _key(name) for tick, name in file.keys.items()}, file.ticks)
    tempi = _Changes(file.tempi, file.ticks)
    found, start = dict[Fraction, ScoreBar](), Fraction(0)
    while start < end:
        number = len(found) + 1
        if number > MOST_BARS:
            raise PassageError("the MIDI file holds more bars than any piece of music does")
        count, unit = meters.at(start) or DEFAULT_METER
        stop = min([start + Fraction(4 * count, unit), *meters.after(start)])
        try:
            meter, words = Meter(count, unit), ""
        except ValueError:
            meter, words = None, f"{count}/{unit}"
        written = key or keys.at(start)
        found[start] = ScoreBar(
            str(number),
            stop - start,
            signature=written.signature if written else None,
            mode=written.mode if written else "",
            meter=meter,
            meter_words=words,
            tempo=tempi.within(start, stop),
        )
        start = stop
    return found


def _key(name: str) -> Key:
    """`F#m` of a key signature."""
    return parse_key(f"{name.removesuffix('m')} {'minor' if name.endswith('m') else 'major'}")


def _filled(
    bars: Mapping[Fraction, ScoreBar], notes: Sequence[Placed], *, is_percussion: bool
) -> Iterator[ScoreBar]:
    """Bars with their notes: what reaches over a bar line is tied."""
    starts = list(bars)
    heads: list[list[ScoreNote]] = [[] for _ in starts]
    moved, onsets, count = set[int](), [note.start for note in notes], 0
    for note in notes:
        place = bisect_right(starts, note.start) - 1
        bar = bars[starts[place]]
        after = bisect_right(onsets, note.start)
        following = notes[after].key if after < len(notes) else None
        pitch = spelled(note.key, following, bar.signature or 0, bar.mode)
        if note.is_moved:
            moved.add(place)
        at = note.start
        while at < note.end:
            line = starts[place] + bars[starts[place]].length
            head = ScoreNote(
                at - starts[place],
                min(line, note.end) - at,
                None if is_percussion else pitch,
                is_unpitched=is_percussion,
                tie_from_last=at > note.start,
                tie_to_next=line < note.end,
            )
            heads[place].append(head)
            at, place, count = line, place + 1, count + 1
            if count > MOST_HEADS:
                raise PassageError("the MIDI file holds more than any piece of music does")
    for place, start in enumerate(starts):
        told = (MOVED,) if place in moved else ()
        yield replace(bars[start], notes=tuple(heads[place]), told=told)
