"""Scores that others wrote for readers to fail on, through `playalong passage`.

    python tests/bench/readers.py suite          the MusicXML test suite (MIT), file by file
    python tests/bench/readers.py abc [COUNT]    tunes, note by note against music21's reading
    python tests/bench/readers.py size           10,000 bars by four parts: seconds and MB

Both are among what music21 installs: the suite in `music21/musicxml/lilypondTestSuite` (a fork of
that of the LilyPond project, which is under the MIT licence), the tunes in its corpus.
"""

from __future__ import annotations

import random
import re
import resource
import sys
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parents[1] / "passage"))
from score_truth import CORPUS, SUITE, our_heads, their_heads
from small_scores import line, numbered

from playalong.errors import PlayalongError
from playalong.passage.container import score_bytes
from playalong.passage.passage import passage_of
from playalong.passage.reading import all_parts, part_of
from playalong.passage.wishes import Asked


def suite() -> None:
    """Whether each file is read, as music21 reads it, and what comes of its first part."""
    count = Counter[str]()
    for file in sorted(SUITE.glob("[0-9]*")):
        count["files"] += 1
        try:
            parts = all_parts(score_bytes(file))
        except PlayalongError as error:
            print(f"{file.name}: not read: {error}")
            continue
        count["read"] += 1
        if our_heads(file) == their_heads(file):
            count["of these as music21 reads them"] += 1
        else:
            print(f"{file.name}: differs from music21")
        asked = Asked(str(parts[0].name.number), voice="top", instrument="violin")
        try:
            passage_of(file, asked)
            count["whole first parts fingered for the violin"] += 1
        except PlayalongError as error:
            reason = re.sub(r"bars? [\d, ]+:?|[A-G][#b]*\d", "…", str(error))
            count[f"first parts refused: {reason}"] += 1
    tell(count)


def abc(count: int) -> None:
    found, files = Counter[str](), sorted(CORPUS.glob("ryansMammoth/*.abc"))
    for file in random.Random(1).sample(files, min(count, len(files))):
        ours, theirs = (
            Counter((head.at, head.length, head.name, head.grace) for head in heads(file))
            for heads in (our_heads, their_heads)
        )
        found["tunes"] += 1
        found["tunes that agree"] += ours == theirs
        found["notes"] += ours.total()
        found["notes that agree"] += (ours & theirs).total()
    tell(found)


def size() -> None:
    """Both ways of reading: one part of four, and the list of all."""
    bars = "".join(numbered(*[line("A4 B4 C5 D5 E5 D5 C5 B4", 2)] * 10_000))
    names = range(1, 5)
    head = "".join(
        f'<score-part id="P{n}"><part-name>Violin</part-name></score-part>' for n in names
    )
    parts = "".join(f'<part id="P{n}">{bars}</part>' for n in names)
    data = f"<score-partwise><part-list>{head}</part-list>{parts}</score-partwise>".encode()
    print(f"{len(data) / 1e6:.0f} MB")
    del bars, parts
    for what, read in (
        ("one part", lambda: part_of(data, lambda names: names[1])),
        ("all parts", lambda: all_parts(data)),
    ):
        began = time.process_time()
        read()
        peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(f"{what}: {time.process_time() - began:.1f} s of CPU, {peak_mb:.0f} MB at most")


def tell(count: Counter[str]) -> None:
    for what, many in count.most_common():
        print(f"{many:7} {what}")


if __name__ == "__main__":
    words = sys.argv[1:]
    if words[:1] == ["abc"]:
        abc(int(words[1]) if words[1:] else 200)
    elif words[:1] == ["size"]:
        size()
    else:
        suite()
