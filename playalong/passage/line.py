"""One note at a time: the line that a player reads in some bars, and what it leaves out.

Ties are made one note, slurs one bow. What a drill cannot hold is refused, or told by bar.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby, pairwise, zip_longest

from playalong.errors import short
from playalong.music.meter import MOST_PARTS
from playalong.music.pitch import Pitch
from playalong.passage.model import ARTIFICIAL, PassageError, ScoreBar, ScoreNote

TOP = "top"  # the voice that takes the highest note of each moment


@dataclass(frozen=True)
class LineNote:
    """A note of the line, over all its ties. `pitch` is what sounds."""

    start: Fraction  # quarters from the beginning of the passage
    length: Fraction  # quarters
    pitch: Pitch
    bar: int  # place of its bar among those of the passage
    printed: ScoreNote  # its first head
    bow: int = 0  # notes that agree in it share a bow
    slur_starts: int = 0
    slur_stops: int = 0

    @property
    def end(self) -> Fraction:
        return self.start + self.length

    @property
    def is_grace(self) -> bool:
        """Whether it has no time of its bar, and leads to the note after it."""
        return not self.length


@dataclass(frozen=True)
class Line:
    bars: tuple[ScoreBar, ...]
    starts: tuple[Fraction, ...]  # of each bar, quarters from the beginning of the passage
    notes: tuple[LineNote, ...]
    left_out: tuple[str, ...]  # told, with their bars

    def bar_of(self, note: LineNote) -> str:
        """The printed number of a note's bar."""
        return self.bars[note.bar].number


class Told:
    """What is told of bars, kind by kind."""

    def __init__(self) -> None:
        self.bars: dict[str, list[str]] = defaultdict(list)

    def say(self, what: str, bar: ScoreBar) -> None:
        if bar.number not in self.bars[what]:
            self.bars[what].append(bar.number)

    def lines(self) -> tuple[str, ...]:
        return tuple(f"{what}: {bars_named(numbers)}" for what, numbers in self.bars.items())


def bars_named(numbers: Sequence[str]) -> str:
    """`bar 12`, `bars 12, 14`."""
    return f"bar{'s' if len(numbers) > 1 else ''} {', '.join(numbers)}"


def line_of(bars: Sequence[ScoreBar], voice: str | None = None) -> Line:
    """The line of these bars. PassageError for what is not one line, or for none."""
    told, heads, starts, start = Told(), list[LineNote](), list[Fraction](), Fraction(0)
    for bar in bars:
        if bar.fault:
            raise PassageError(f"bar {bar.number}: {bar.fault}")
    bars = _over_bar_lines(bars)
    for place, bar in enumerate(bars):
        starts.append(start)
        _tell(bar, told)
        for note, length, pitch in _one_voice(bar, voice, told):
            _check_length(bar, length)
            heads.append(
                LineNote(
                    start + note.at,
                    length,
                    pitch,
                    place,
                    note,
                    slur_starts=note.slur_starts,
                    slur_stops=note.slur_stops,
                )
            )
        start += bar.length
    if not heads:
        raise PassageError(f"{bars_named([bar.number for bar in bars][:8])}: no note to play there")
    if heads[0].printed.tie_from_last:
        told.say("a note tied from the bar before is struck anew", bars[heads[0].bar])
    notes = tuple(_bowed(_tied(heads)))
    return Line(tuple(bars), tuple(starts), notes, told.lines())


def _over_bar_lines(bars: Sequence[ScoreBar]) -> list[ScoreBar]:
    """Grace notes that end a bar, as after a trill, lead to the first note of the next one."""
    found = list(bars)
    for place, (one, two) in enumerate(pairwise(bars)):
        ends = [note for note in one.notes if note.at + note.length == one.length]
        tied = {note.voice for note in ends if note.tie_to_next}
        struck = [note for note in two.notes if note.pitch and not (note.at or note.is_grace)]
        ready = {note.voice for note in struck if not note.tie_from_last} - tied
        stay, move = list[ScoreNote](), list[ScoreNote]()
        for note in found[place].notes:
            leads_on = note.is_grace and note.at == one.length and note.voice in ready
            (move if leads_on else stay).append(note)
        if move:
            at_start = (replace(note, at=Fraction(0)) for note in move)
            found[place] = replace(found[place], notes=tuple(stay))
            found[place + 1] = replace(two, notes=(*at_start, *two.notes))
    return found


def _one_voice(
    bar: ScoreBar, voice: str | None, told: Told
) -> Iterator[tuple[ScoreNote, Fraction, Pitch]]:
    """Note by note, with how long it lasts and how it sounds."""
    sounding = [note for note in bar.notes if note.pitch and not (note.is_grace or note.is_cue)]
    if any(note.is_unpitched for note in bar.notes):
        raise PassageError(f"bar {bar.number} is for percussion: it has notes without a pitch")
    if any(note.microtone for note in sounding):
        raise PassageError(f"bar {bar.number} has quarter tones; a drill has half steps only")
    if voice not in (None, TOP):
        sounding = [note for note in sounding if note.voice == voice]
    heads = sorted((_Head(bar, note) for note in sounding), key=lambda head: (head.at, -head.key))
    tops = [next(group) for _, group in groupby(heads, key=lambda head: head.at)]
    overlap = any(one.end > two.at for one, two in pairwise(tops))
    several = len(tops) < len(heads)
    if voice != TOP:
        _check_one_line(bar, sounding, several=several, overlap=overlap)
    elif overlap or several:
        told.say("double stops, of which only the highest note is taken", bar)
    graces = [note for note in bar.notes if note.is_grace]
    end, highest = Fraction(0), 0
    for head, following in zip_longest(tops, tops[1:]):
        if overlap and head.at < end and head.key < highest:
            continue  # below a note that still sounds
        end, highest, length = head.end, head.key, head.note.length
        if overlap and following and head.end > following.at and following.key >= highest:
            length = following.at - head.at
        if length:
            yield from _graces(bar, graces, head.note)
            yield head.note, length, head.pitch
    if graces and any(note.at not in {head.at for head in tops} for note in graces):
        told.say("grace notes that lead to no note of their bar", bar)


class _Head:
    """A note that sounds, with what is asked of it again and again."""

    __slots__ = ("at", "end", "key", "note", "pitch")

    def __init__(self, bar: ScoreBar, note: ScoreNote) -> None:
        pitch = bar.sounding(note)
        assert pitch is not None  # a rest does not sound
        self.note, self.pitch, self.key = note, pitch, pitch.key_number
        self.at, self.end = note.at, note.at + note.length


def _graces(
    bar: ScoreBar, graces: Sequence[ScoreNote], main: ScoreNote
) -> Iterator[tuple[ScoreNote, Fraction, Pitch]]:
    """The grace notes that lead to a note, the first head of each."""
    for note in graces:
        pitch = bar.sounding(note)
        plain = not (note.is_chord or note.is_cue or note.microtone)
        if pitch and plain and (note.at, note.voice) == (main.at, main.voice):
            yield note, Fraction(0), pitch


def _check_one_line(
    bar: ScoreBar, sounding: Sequence[ScoreNote], *, several: bool, overlap: bool
) -> None:
    voices = sorted({short(note.voice, 8) for note in sounding})
    if len(voices) > 1 and (several or overlap):
        known = ", ".join(voices)
        raise PassageError(
            f"bar {bar.number} has several voices at once ({known}); say which with --voice, "
            f'or "--voice {TOP}" for the highest note of each moment'
        )
    if several or overlap:
        raise PassageError(
            f"bar {bar.number} has double stops, and a drill has one note at a time; "
            f'"--voice {TOP}" takes the highest of each'
        )


def _check_length(bar: ScoreBar, length: Fraction) -> None:
    if length.denominator > MOST_PARTS:
        raise PassageError(
            f"bar {bar.number} has a note of {length} of a quarter; a quarter has {MOST_PARTS} "
            "parts at most"
        )


def _tied(heads: Sequence[LineNote]) -> list[LineNote]:
    """Notes over their ties, of which some scores print the beginning only, others the end."""
    found: list[LineNote] = []
    before: LineNote | None = None
    for head in heads:
        last = found[-1] if found else None
        joins = last and last.end == head.start and last.pitch.key_number == head.pitch.key_number
        tied = head.printed.tie_from_last or (before is not None and before.printed.tie_to_next)
        before = head
        if last and joins and tied:
            found[-1] = replace(
                last,
                length=last.length + head.length,
                slur_starts=last.slur_starts + head.slur_starts,
                slur_stops=last.slur_stops + head.slur_stops,
            )
        else:
            found.append(head)
    return found


def _bowed(notes: Sequence[LineNote]) -> Iterator[LineNote]:
    """Slurs that overlap or meet on a note are one bow; grace notes are in that of their note."""
    bow = open_slurs = 0
    leads_on = False  # from a grace note
    for note in notes:
        bow += not open_slurs and not leads_on
        yield replace(note, bow=bow)
        open_slurs = max(open_slurs + note.slur_starts - note.slur_stops, 0)
        leads_on = note.is_grace


def _tell(bar: ScoreBar, told: Told) -> None:
    """What these bars have that a drill does not."""
    for note in bar.notes:
        if note.is_cue:
            told.say("cue notes", bar)
            continue
        for mark in (*note.ornaments, *note.articulations):
            told.say(short(mark.replace("-", " "), 24), bar)
        if note.bow:
            told.say(f"{note.bow} signs", bar)
        if note.harmonic == ARTIFICIAL:
            told.say(f"{note.harmonic} harmonics, written as stopped notes", bar)
        for finger in note.other_fingers:
            told.say(f'the fingering "{finger}"', bar)
        if len(note.fingers) > 1:
            told.say("further fingers on one note", bar)
    if bar.repeats or bar.endings:
        told.say("repeat signs and endings (the bars stand once, as printed)", bar)
    if bar.meter and bar.meter_words:
        told.say(f"the groups of the meter {bar.meter_words}, written {bar.meter}", bar)
    for words in bar.words:
        told.say(f'the words "{short(words, 40)}"', bar)
    for words in bar.told:
        told.say(words, bar)
