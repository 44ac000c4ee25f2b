"""From a score and what is asked of it to drill files: the passage, and drills for its shifts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

from playalong.drill.load import parse
from playalong.drill.model import DEFAULT_BPM, TEMPO_RANGE_BPM
from playalong.errors import PlayalongError, short
from playalong.instrument.catalogue import find_instrument
from playalong.instrument.fingerboard import Fingerboard
from playalong.instrument.instruments import Instrument
from playalong.instrument.position import finger_words
from playalong.music.temperament import Tuning
from playalong.music.transposition import AS_WRITTEN
from playalong.passage.choosing import choose_bars, choose_part
from playalong.passage.container import score_bytes
from playalong.passage.drill_text import DrillText
from playalong.passage.fingering import choose, soundings
from playalong.passage.keys import keys_of
from playalong.passage.line import Line, Told, bars_named, line_of
from playalong.passage.model import Part, PassageError, ScoreBar
from playalong.passage.reading import part_of
from playalong.passage.shift_drills import shift_drills
from playalong.passage.study import Shift, hardest, shifts_of
from playalong.passage.telling import fingering_comments, shift_comments, shift_words, summary_words
from playalong.passage.ways import OPEN_STRING
from playalong.passage.wishes import Asked, Wishes
from playalong.passage.writer import Fingered, meters_of
from playalong.score.writing import write

PASSAGE_FILE = "passage.toml"
NO_TEMPO = "The score gives no tempo: set start and goal below, or say --tempo START-GOAL."
START_SHARE = 0.6  # of the score's own tempo, to begin with


@dataclass(frozen=True)
class Passage:
    """What comes of it: file names with their text, and what to tell."""

    title: str
    files: dict[str, str]
    fingered: Fingered
    shifts: tuple[Shift, ...]  # that have drills, the hardest first
    shift_count: int  # of the whole passage
    told: tuple[str, ...]

    @property
    def summary(self) -> str:
        return summary_words(self.fingered, self.shift_count)

    @property
    def shift_lines(self) -> Iterator[str]:
        """The shifts that have drills, the hardest first."""
        return (shift_words(self.fingered, shift) for shift in self.shifts)


def passage_of(path: Path, asked: Asked) -> Passage:
    """Read, finger and write. PassageError, ReadError or another with what is wrong."""
    part = part_of(score_bytes(path), lambda names: choose_part(names, asked.part), asked.key)
    name, instrument = _instrument(part, asked.instrument)
    bars, read_told = _as_read(choose_bars(part, asked.bars), part, asked, instrument)
    line = line_of(bars, asked.voice)
    meters_of(line)  # what no drill holds is told before the work of fingering it
    keys, key_told = keys_of(line, asked.key)
    boards = {key: Fingerboard(instrument, key, Tuning()) for key in keys}
    by_bar = tuple(boards[key] for key in keys)
    tempo, quarters_a_minute = _tempo(line, asked.tempo)
    choices = choose(line, by_bar, _checked(asked.wishes, instrument), quarters_a_minute)
    fingered = Fingered(line, choices, by_bar)
    title = _title(part.title or path.stem, part.name.name, name, line)
    told = (*part.told, *read_told, *key_told, *_told(fingered, asked.wishes.highest))
    comments = fingering_comments(path.name, part, fingered, told)
    if asked.tempo is None and not any(bar.tempo for bar in line.bars):
        comments = (*comments, NO_TEMPO)
    drill = DrillText(
        title,
        name,
        fingered.note_name,
        fingered.bars(),
        tempo,
        fingered.upbeat / fingered.unit,
        fingered.first_bar() or 1,
        comments,
    )
    score = write(parse(drill.text, name=PASSAGE_FILE))
    shifts = shifts_of(score, soundings(line, quarters_a_minute))
    chosen = hardest(shifts, score, asked.shifts)
    files = {PASSAGE_FILE: drill.text}
    for number, shift in enumerate(chosen, 1):
        comments = shift_comments(fingered, shift, PASSAGE_FILE)
        for kind, text in shift_drills(fingered, shift, drill, comments):
            files[f"shift-{number}-{kind}.toml"] = text.text
            parse(text.text, name=f"shift-{number}-{kind}.toml")
    return Passage(title, files, fingered, chosen, len(shifts), told)


def _title(piece: str, part: str, instrument: str, line: Line) -> str:
    """Piece, part and bars; the part where it is more than the name of the instrument."""
    first, last = line.bars[0].number, line.bars[-1].number
    bars = f"bars {first}-{last}" if len(line.bars) > 1 else f"bar {first}"
    try:
        is_told = find_instrument(part.strip(" .")).name != instrument
    except PlayalongError:
        is_told = bool(part.strip()) and part.casefold() not in piece.casefold()
    return ", ".join((short(piece), *([short(part.strip())] if is_told else []), bars))


def _checked(wishes: Wishes, instrument: Instrument) -> Wishes:
    if wishes.stay:
        try:
            instrument.string(wishes.stay)
        except PlayalongError as error:
            raise PassageError(f"--stay: {error}") from None
    if wishes.lowest > wishes.highest:
        message = f"--lowest {wishes.lowest} lies above --highest {wishes.highest}"
        raise PassageError(message)
    return wishes


def _instrument(part: Part, asked: str | None) -> tuple[str, Instrument]:
    """The instrument that is asked for, or that the part is called after."""
    words = part.name.name.lower().replace(".", " ").split()
    for name in (asked,) if asked else words:
        try:
            found = find_instrument(name)
        except PlayalongError as error:
            if asked:
                raise PassageError(f"--instrument: {error}") from None
            continue
        if found.hand:
            return found.name, found
        if asked:
            raise PassageError(
                f"--instrument: fingers are for violin, viola, cello and bass, not for {found.name}"
            )
    called = short(part.name.name or part.name.id)
    raise PassageError(
        f'say --instrument violin, viola, cello or bass; the part is called "{called}"'
    )


def _as_read(
    bars: Sequence[ScoreBar], part: Part, asked: Asked, instrument: Instrument
) -> tuple[Sequence[ScoreBar], tuple[str, ...]]:
    """The bars as who plays another's part reads them, where the open strings reach so low.

    A bass plays what a cello part prints, an octave lower (common practice).
    """
    octave = instrument.transposition
    lowest = min(instrument.as_written(string).key_number for string in instrument.strings)
    pitches = [note.pitch.key_number for bar in bars for note in bar.notes if note.pitch]
    is_own = any(bar.transposition != AS_WRITTEN for bar in bars)
    if not (asked.instrument and octave.octaves and pitches) or is_own or min(pitches) < lowest:
        return bars, ()
    try:
        own, _ = _instrument(part, None)
    except PassageError:
        own = ""
    if own == instrument.name:
        return bars, ()
    read = tuple(replace(bar, transposition=octave) for bar in bars)
    return read, (f"read as printed, so that it sounds {octave.words}",)


def _tempo(line: Line, asked: tuple[int, int] | None) -> tuple[tuple[int, int], float]:
    """Start and goal in beats a minute, and the goal in quarters a minute."""
    meter = line.bars[0].meter
    beat = meter.beat if meter else Fraction(1)
    marked = next((bar.tempo for bar in line.bars if bar.tempo), None)
    low, high = TEMPO_RANGE_BPM
    if asked:
        start, goal = asked
    elif marked:
        goal = min(max(round(marked / float(beat)), low), high)
        start = max(low, round(goal * START_SHARE))
    else:
        start = goal = DEFAULT_BPM
    return (start, goal), float(goal * beat)


def _told(fingered: Fingered, highest: int) -> Iterator[str]:
    line, told = fingered.line, Told()
    for note, choice in zip(line.notes, fingered.choices, strict=True):
        way, bar = choice.way, line.bars[note.bar]
        if choice.breaks:
            asked = choice.printed
            wish = " ".join(
                (
                    *([f"finger {asked.finger}"] if asked.finger is not None else []),
                    *([f"on the {asked.string} string"] if asked.string else []),
                )
            )
            yield (
                f"bar {bar.number}: {note.pitch} cannot be played as printed ({wish}); "
                f"{finger_words(way.finger)} on the {way.string} string is taken"
            )
        if choice.printed.touched and not way.touched:
            told.say("natural harmonics, written as stopped notes", bar)
        if way.finger != OPEN_STRING and not way.position.is_within(highest):
            told.say(f"above position {highest}, which has not these notes", bar)
    yield from told.lines()
    held = next((bar.tempo for bar in line.bars if bar.tempo), None)
    tempi = tuple(bar.number for bar in line.bars if bar.tempo and bar.tempo != held)
    if tempi:
        yield f"another tempo, where the drill keeps to one: {bars_named(tempi)}"
    if fingered.closing_rest:
        yield f"a bar of rest, so that the upbeat can come again: after bar {line.bars[-1].number}"
    if fingered.filled:
        yield f"short, so filled up: {bars_named(fingered.filled)}"
    yield from line.left_out
