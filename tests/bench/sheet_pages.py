"""How the sheets of many drills fill their pages, and the pictures to look at.

    python tests/bench/sheet_pages.py FOLDER

Renders the demo drills and the drills below into FOLDER (`pdftoppm` makes PNG of them) and prints
pages, height of the staves, and how much of each page is used: the share of its height, without
margins and foot line, that does not lie in blank bands of more than 15 mm.
"""

from __future__ import annotations

import subprocess
import sys
from itertools import pairwise
from pathlib import Path

sys.path.append(str(Path(__file__).parents[1]))

from sheet_svg import Drawing, read_drawing

from playalong.drill.load import load, parse
from playalong.drill.model import Drill
from playalong.score.writing import write
from playalong.sheet.render import render_sheet
from playalong.shipped import demo_folder

BAND_MM, TOP_MM, LINE_MM = 15.0, 15.0, 21.0  # a blank band; upper margin; lower with foot line
FOURS = "p1: 1 2 3 4 p2: 1 2 p1: 2 1"
KEYS = (
    '["C major", "G major", "D major", "A major", "F major", "Bb major", "Eb major", "Ab major", '
    '"Db major", "Bb minor"]'
)
DRILLS = {
    "6-8-ten-keys": ("violin", "p1: 1 2 3 p2: 3 2 1", f'meter = "6/8"\nkeys = {KEYS}\nclimb = 4'),
    "6-8-eight": ("viola", "p1: ( 1 2 3 ) p3: ( 3 2 1 )", 'meter = "6/8"\nclimb = 8'),
    "all-strings": ("violin", FOURS, 'strings = ["G", "D", "A", "E"]\nclimb = 4'),
    "same-notes": ("viola", FOURS, 'keys = ["Db major", "Bb minor"]\nstrings = ["G"]\nclimb = 3'),
    "one-bar": ("viola", "p1: 1 2 3 1 p3: 1 2 p1: 2 1", 'strings = ["D"]\nkeys = ["F major"]'),
    "high-violin": ("violin", "1 2 3 4 4 3 2 1", 'strings = ["E"]\nclimb = [1, 5, 8, 10, 12, 14]'),
    "high-viola": ("viola", "1 2 3 4 4 3 2 1", 'strings = ["A"]\nclimb = 9'),
    "viola-low-high": ("viola", "C: p1: 1 2 3 4 | A: p7: 1 2 3 4", 'note = "quarter"\nclimb = 3'),
    "triplets": ("violin", "p1: 1*2/3 2*2/3 3*2/3 p2: 1*2/3 2*2/3 3*2/3 p1: 1*2 2*2", "climb = 4"),
    "triplet-slurs": ("viola", "( 1*2/3 2*2/3 3*2/3 ) ( p3: 1*2/3 2*2/3 3*2/3 ) r*4", "climb = 4"),
    "chromatic": ("violin", "1 1# 2 2# 3 3# 4 4", 'keys = ["C major"]\nclimb = 3'),
    "courtesy": ("viola", "p1: 1# 2 3 1 | p1: 1 2 3# 1 | 3 2 1 r", 'note = "quarter"\nclimb = 2'),
    "exchanges": ("violin", "p1: 2 p3: 1 2 p1: 3 p2: 2 p4: 1 p2: 2 p1: 3", "climb = 4"),
    "slurs-climb-eight": ("viola", "( p1: 1 2 3 1 ) ( p3: 1 2 p1: 2 1 )", "climb = 8"),
    "passes": ("violin", "p1: 1 p3: 3 p1: 1 p4: 2", 'note = "quarter"\npasses = 2\nclimb = 6'),
    "five-bars": ("violin", FOURS, "climb = [1, 2, 3, 2, 1]"),
    "cello-climb-eight": (
        "cello",
        "B3 ~D4 C4 ~E4 | E4 ~C4 D4 ~B3",
        'note = "quarter"\nclimb = 8\nstrings = ["A"]',
    ),
    "cello-low-high": ("cello", "C2 G2 E3 C4 | E5 G5 C6 E5", 'note = "quarter"\nclimb = 2'),
    "bass": ("bass", "A3 B3 C4 D4", 'note = "quarter"\nstrings = ["G"]\nclimb = 8'),
    "long": ("violin", FOURS, "climb = [" + "1, 2, 3, 4, 5, 6, " * 6 + "1]"),
    "sixteenths": (
        "violin",
        "p1: 1 p3: 3 2 p1: 4 1 p2: 3 1 p4: 4 1 2 p1: 4 1 p5: 1 p1: 1 2 p3: 4",
        'note = "sixteenth"\nclimb = 3\nstrings = ["D", "A"]',
    ),
    "clarinet": ("clarinet", "G4 A4 B4 C5 D5 C5 B4 A4", "climb = 8"),
}


def drills() -> dict[str, Drill]:
    shipped = {path.stem: load(path) for path in sorted(demo_folder().glob("*.toml"))}
    return shipped | {
        name: parse(f'title = "{name}"\ninstrument = "{instrument}"\nbar = "{bar}"\n{more}')
        for name, (instrument, bar, more) in DRILLS.items()
    }


def use(page: Drawing) -> float:
    """The share of a page that does not lie in blank bands."""
    room = page.height - TOP_MM - LINE_MM
    rows = sorted((box[1], box[3]) for box in [each.box for each in (*page.texts, *page.strokes)])
    blank, low = 0.0, TOP_MM
    for top, bottom in [*rows, (TOP_MM + room, TOP_MM + room)]:
        top = min(top, TOP_MM + room)
        blank += top - low if top - low > BAND_MM else 0.0
        low = max(low, min(bottom, TOP_MM + room))
    return 1 - blank / room


def staff_mm(pages: list[Drawing]) -> float:
    """From the lowest to the highest of five lines."""
    levels = sorted({round(s.box[1], 2) for p in pages[:1] for s in p.strokes if s.kind == "staff"})
    gaps = [b - a for a, b in pairwise(levels)]
    return round(4 * min(gaps), 1) if gaps else 0.0


def main(folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    total = 0
    for name, drill in drills().items():
        scores = [write(drill, *pair) for pair in drill.pairs]
        files, contents = render_sheet(drill, scores, formats=("pdf", "svg"))
        (folder / f"{name}.pdf").write_bytes(contents["sheet.pdf"])
        subprocess.run(
            ["pdftoppm", "-r", "50", "-png", folder / f"{name}.pdf", folder / name], check=True
        )
        pages = [read_drawing(contents[each].decode()) for each in files.svg]
        uses = [round(100 * use(page)) for page in pages]
        print(f"{name:22} {len(pages):2} pages, staff {staff_mm(pages)} mm, used %: {uses}")
        total += len(pages)
    print(f"{'all':22} {total} pages")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
