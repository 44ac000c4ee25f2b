"""Makes the README's track: what its first picture shows, to be heard before anything is installed.

    python demo/sound/make_sound.py

The same drill, tempo and stage as `demo/pictures/draw.py`, its first starting position only.
"""

from __future__ import annotations

import sys
from pathlib import Path

from playalong.drill.load import load
from playalong.performance.perform import perform
from playalong.performance.performance import Performance
from playalong.score.writing import write
from playalong.sound.audio import write_audio
from playalong.sound.stems import render
from playalong.sound.tags import Tags

HERE = Path(__file__).parent
DRILL = HERE.parent / "04-old-finger-leads.toml"
SOUND = HERE / "a-shift.mp3"
BPM, KBPS = 50, 64


def performance() -> Performance:
    """Two bars, twice: played, then played along with."""
    drill = load(DRILL)
    return perform(write(drill, drill.keys[0], "D"), BPM, drill.stages[0], stands=slice(0, 1))


def make(path: Path) -> None:
    """Write the track."""
    sound = render(performance())
    tags = Tags(title="The old finger shows the way", album="playalong", tempo_bpm=BPM)
    write_audio(path, [sound], format="mp3", channels=1, tags=tags, bitrate_kbps=KBPS)


if __name__ == "__main__":
    make(Path(sys.argv[1]) if len(sys.argv) > 1 else SOUND)
