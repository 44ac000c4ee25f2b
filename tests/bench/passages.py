"""Passages of real quartet parts, by the hundred: what becomes of them, and how long it takes.

    python tests/bench/passages.py [COUNT [SEED [PARTS [INSTRUMENT]]]]    four bars each, 500 of
                         them if left out, of parts whose name has PARTS in it ("violin|viola" if
                         left out), played on what they are called after or on another INSTRUMENT
    python tests/bench/passages.py scores [COUNT]     whole scores against music21's reading
    python tests/bench/passages.py midi [COUNT]       the same scores through MIDI, held for 95 %
    python tests/bench/passages.py speed [COUNT]      long quartet parts as a whole: seconds of CPU
                         for 500 bars

The scores are those that music21 carries (public domain, or as its corpus/license.txt says).
"""

from __future__ import annotations

import random
import re
import sys
import time
from collections import Counter
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
from score_truth import CORPUS, Agreement, midi_agreement, our_heads, their_heads

from playalong.drill.load import parse
from playalong.errors import PlayalongError
from playalong.instrument.catalogue import find_instrument
from playalong.instrument.fingerboard import Fingerboard
from playalong.music.key import parse_key
from playalong.music.temperament import Tuning
from playalong.passage.choosing import choose_bars
from playalong.passage.container import score_bytes
from playalong.passage.fingering import choose
from playalong.passage.line import line_of
from playalong.passage.model import Part
from playalong.passage.passage import PASSAGE_FILE, Passage, passage_of
from playalong.passage.reading import all_parts, part_of
from playalong.passage.ways import OPEN_STRING
from playalong.passage.wishes import Asked, Wishes
from playalong.score.writing import write

QUARTETS = ("haydn", "mozart", "beethoven")
BARS = 4


def passages(count: int, seed: int, named: str, instrument: str | None = None) -> None:
    chance, told, left_out = random.Random(seed), Counter[str](), Counter[str]()
    files = sorted(file for name in QUARTETS for file in (CORPUS / name).rglob("*.mxl"))
    parts = {
        file: all_parts(score_bytes(file)) for file in chance.sample(files, min(25, len(files)))
    }
    seconds = 0.0
    for _ in range(count):
        file = chance.choice(list(parts))
        strings = [
            part for part in parts[file] if re.search(rf"\b({named})\b", part.name.name, re.I)
        ]
        if not strings:
            continue
        part = chance.choice(strings)
        first = chance.randrange(max(1, len(part.bars) - BARS))
        numbers = [bar.number for bar in part.bars[first : first + BARS]]
        asked = Asked(
            part=str(part.name.number),
            bars=f"{numbers[0]}-{numbers[-1]}",
            instrument=instrument,
        )
        began = time.process_time()
        try:
            made = passage_of(file, asked)
        except PlayalongError as error:
            told["refused: " + re.sub(r"\d+", "n", str(error))[:70]] += 1
            continue
        finally:
            seconds += time.process_time() - began
        told["loads"] += 1
        told["loses nothing"] += not made.told
        left_out.update(re.sub(r": bars? .*", "", line) for line in made.told)
        for fault in faults(made):
            told[f"FAULT: {fault}"] += 1
            print(file.name, asked, fault)
    for what, many in told.most_common():
        print(f"{many:5} {what}")
    print("of what is told:")
    for what, many in left_out.most_common(20):
        print(f"{many:5} {what}")
    print(f"{seconds:.1f} s of CPU, the reading of whole scores too")


def faults(made: Passage) -> list[str]:
    """How the written drill differs from the line and the fingering that it was made from, and
    which drills for shifts cannot be played."""
    notes = write(parse(made.files[PASSAGE_FILE])).climb[0].fresh
    line, choices = made.fingered.line, made.fingered.choices
    found = []
    if [note.pitch for note in notes] != [note.pitch for note in line.notes]:
        found.append("pitches")
    shift = notes[0].start - line.notes[0].start
    times = [(note.start - shift, note.length) for note in notes]
    if not made.fingered.filled and times != [(n.start, n.length) for n in line.notes]:
        found.append("times")
    ways = [choice.way for choice in choices if choice.way.finger != OPEN_STRING]
    stops = [note.stop for note in notes if note.stop]
    asked = [(way.string, way.position, way.finger) for way in ways]
    if [(stop.string, stop.position, stop.finger) for stop in stops] != asked:
        found.append("fingers")
    boards = [
        made.fingered.board(number)
        for number, choice in enumerate(choices)
        if choice.way.finger != OPEN_STRING
    ]
    planned = sum(
        not board.is_same_hand(two.string, one.position, two.position)
        for board, (one, two) in zip(boards[1:], pairwise(ways), strict=True)
    )
    if made.shift_count != planned:
        found.append(f"{made.shift_count} shifts of {planned}")
    for name, text in made.files.items():
        try:
            write(parse(text))
        except PlayalongError as error:
            found.append(f"{name}: {error}")
    return found


def midi(count: int) -> None:
    files = sorted(file for name in QUARTETS for file in (CORPUS / name).rglob("*.mxl"))
    total = Agreement(0, 0, 0, 0)
    for file in random.Random(1).sample(files, min(count, len(files))):
        found = midi_agreement(file, gate=0.95)
        total = Agreement(*map(sum, zip(total, found, strict=True)))
        print(file.relative_to(CORPUS), *found)
    for what, many in total._asdict().items():
        print(f"{what}: {many}, {many / total.notes:.2%}")


def speed(count: int) -> None:
    """Read alone, read and fingered, and the whole passage with its drills."""
    files = sorted(file for name in QUARTETS for file in (CORPUS / name).rglob("*.mxl"))
    long = sorted(files, key=lambda file: -file.stat().st_size)[:count]
    for file in long:
        data = score_bytes(file)
        asked = Asked(part="1", voice="top", instrument="violin")

        def read(data: bytes = data) -> Part:
            return part_of(data, lambda names: names[0])

        def fingered(read: Callable[[], Part] = read) -> None:
            part = read()
            line = line_of(choose_bars(part, None), "top")
            key = parse_key("C major")
            board = Fingerboard(find_instrument("violin"), key, Tuning())
            choose(line, [board] * len(line.bars), Wishes(), 100)

        def whole(file: Path = file, asked: Asked = asked) -> None:
            passage_of(file, asked)

        many = len(read().bars)
        try:
            whole()
        except PlayalongError as error:
            print(f"{file.relative_to(CORPUS)}: {error}")
            continue
        seconds = [f"{_seconds(each) * 500 / many:.2f}" for each in (read, fingered, whole)]
        print(f"{file.relative_to(CORPUS)}, {many} bars: {', '.join(seconds)} s for 500 bars")


def _seconds(work: Callable[[], object]) -> float:
    """The shorter of two runs."""
    found = []
    for _ in range(2):
        began = time.process_time()
        work()
        found.append(time.process_time() - began)
    return min(found)


def scores(count: int) -> None:
    files = [file for end in ("mxl", "xml", "musicxml") for file in CORPUS.rglob(f"*.{end}")]
    agreed = 0
    for file in random.Random(1).sample(sorted(files), min(count, len(files))):
        try:
            ours, theirs = our_heads(file), their_heads(file)
        except Exception as error:
            print(f"{file.relative_to(CORPUS)}: {type(error).__name__}: {str(error)[:90]}")
            continue
        agreed += ours == theirs
        if ours != theirs:
            print(f"{file.relative_to(CORPUS)}: differs")
    print(f"{agreed} of {min(count, len(files))} scores read as music21 reads them")


if __name__ == "__main__":
    words = sys.argv[1:]
    other = {"scores": scores, "midi": midi, "speed": speed}.get(words[0] if words else "")
    if other:
        other(int(words[1]) if words[1:] else {"speed": 4}.get(words[0], 100))
    else:
        count, seed, named, *instrument = words + ["500", "1", "violin|viola"][len(words) :]
        passages(int(count), int(seed), named, *instrument)
