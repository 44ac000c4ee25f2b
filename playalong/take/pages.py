"""The page of a take: one HTML file that needs nothing else and sends nothing."""

from __future__ import annotations

import base64
import io
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from html import escape
from importlib.resources import files
from itertools import chain, count
from pathlib import Path

import numpy as np

from playalong.folder.files import make_folder, write_text
from playalong.folder.names import SVG, media_type
from playalong.guidance import EITHER, cautions
from playalong.music.pitch import pretty
from playalong.offline.document import colours, document, inert
from playalong.performance.clock import SAMPLE_RATE_HZ
from playalong.performance.timeline import TimelineNote
from playalong.take import marks, summary, words
from playalong.take.clock import OnTrackClock
from playalong.take.engraved import MEANING, Engraved
from playalong.take.find import Track
from playalong.take.model import Heard
from playalong.take.overview import Listened
from playalong.take.picture import picture
from playalong.take.recording import opened

ASSETS = files("playalong.take") / "assets"
ENDING = ".take"
PAGE = f"{ENDING}.html"
POLICY = (
    "default-src 'none'; script-src '{script}'; style-src '{style}'; img-src data:; "
    "media-src blob:; base-uri 'none'; form-action 'none'"
)
BLOCK_FRAMES = 2**17


@dataclass(frozen=True)
class Written:
    """The files of a take."""

    page: Path
    sheet: Path | None


def write_take(take: Listened, track: Track, out: Path, before: Collection[Path] = ()) -> Written:
    """A page, and the marked sheet as SVG where the folder's practice page holds the music.

    `before` are the pages of takes that were written with this one: none is written over.
    """
    make_folder(out)
    name = Path(take.track).name
    stem = take.recording.stem if name in take.recording.stem else f"{take.recording.stem}.{name}"
    numbered = (f"{stem}.{number}" for number in count(2))
    stem = next(each for each in chain([stem], numbered) if out / f"{each}{PAGE}" not in before)
    engraved = Engraved.read(track.out, take.heard.timeline.key, take.heard.timeline.string)
    music = engraved.marked(take.heard) if engraved else None
    page = out / f"{stem}{PAGE}"
    write_text(page, _html(take, track, music))
    sheet = None
    title = f"{take.heard.timeline.title}: {_place(take)}"
    alone = engraved.marked(take.heard, title) if engraved else None
    if alone:
        sheet = out / f"{stem}{ENDING}{SVG}"
        write_text(sheet, alone)
    return Written(page, sheet)


def _html(take: Listened, track: Track, music: str | None) -> str:
    heard = take.heard
    body, style, script = (
        (ASSETS / f"take.{ending}").read_text(encoding="utf-8") for ending in ("html", "css", "js")
    )
    sounds = {
        "recording": ("audio/mpeg", _recorded(take)),
        "track": (media_type(track.audio.name), track.audio.read_bytes()),
    }
    parts = {
        "place": escape(_place(take)),
        "report": _paragraphs(words.counted(heard)),
        "rows": _table(heard),
        "strings": _paragraphs(words.strings(heard)),
        "shifts": _shifts(heard),
        "groups": _groups(heard),
        "picture": picture(heard),
        "music": music or "<p>The folder has no practice page, so the drill is not drawn here.</p>",
        "notes": "".join(_row(take)),
        "meaning": f"Over each head, {MEANING[0].lower()}{MEANING[1:]}",
        "foot": _paragraphs((*words.FIGURES, *cautions(EITHER))),
        "data": inert({"notes": _moments(heard), "types": {n: t for n, (t, _) in sounds.items()}}),
        "sounds": "".join(
            f'<script type="text/plain" id="{name}-sound">'
            f"{base64.b64encode(sound).decode()}</script>\n"
            for name, (_, sound) in sounds.items()
        ),
    }
    title = f"A take of {heard.timeline.title}"
    return document(body, parts, title=title, style=colours() + style, script=script, policy=POLICY)


def _place(take: Listened) -> str:
    timeline = take.heard.timeline
    on = f", {timeline.string} string" if timeline.string else ""
    return (
        f"{pretty(timeline.key)}{on}, tempo {timeline.bpm}, {timeline.stage}; {take.recording.name}"
    )


def _recorded(take: Listened) -> bytes:
    """The recording on the track's clock, as MP3: the moving line and it cannot drift apart."""
    import soundfile

    buffer = io.BytesIO()
    frames = round(take.heard.timeline.seconds * SAMPLE_RATE_HZ)
    with opened(take.recording) as file:
        sound = OnTrackClock(file, take.heard.placed)
        starts = range(0, frames, BLOCK_FRAMES)
        peak = max(float(np.abs(sound.as_recorded(at, at + BLOCK_FRAMES)).max()) for at in starts)
        with soundfile.SoundFile(
            buffer, "w", SAMPLE_RATE_HZ, 1, format="MP3", subtype="MPEG_LAYER_III"
        ) as mp3:
            for at in starts:
                block = sound.read(at, min(at + BLOCK_FRAMES, frames))
                mp3.write(block * (0.7 / max(peak, 1e-6)))
    return buffer.getvalue()


def _moments(heard: Heard) -> dict[str, list[float | None]]:
    """Of each note: from, to, and where the track itself lets the same note be heard; its Hz."""
    sounding: dict[tuple[int, float], TimelineNote] = {}
    for note in heard.timeline.notes:
        if note.sounds and not note.is_given:
            sounding.setdefault((note.bar, note.beat), note)
    told = {}
    for each in heard.notes:
        known = sounding.get((each.note.bar, each.note.beat))
        start = None if known is None else known.heard_from_seconds or known.from_seconds
        stop = None if known is None else known.to_seconds
        told[str(each.index)] = [
            each.note.from_seconds, each.note.to_seconds, start, stop, each.note.hz,
        ]  # fmt: skip
    return told


def _table(heard: Heard) -> str:
    rows = "".join(
        f'<tr><th scope="row">{row.name}</th><td>{row.count}</td><td>{escape(row.told)}</td></tr>'
        for row in words.rows(heard)
    )
    return f"<table><tbody>{rows}</tbody></table>" if rows else ""


def _shifts(heard: Heard) -> str:
    lines = words.shift_lines(heard)
    return f"<p><b>Shifts</b> {escape('; '.join(lines))}.</p>" if lines else ""


def _row(take: Listened) -> Iterable[str]:
    heard = take.heard
    shifts = {shift.into: shift for shift in heard.shifts}
    for each in heard.notes:
        shift = shifts.get(each.index)
        parts = [marks.told(each), *(marks.came(shift, each, heard.placed) if shift else ())]
        yield (
            f'<li class="{marks.kind(each)}"><button type="button" data-note="{each.index}">'
            f"{escape(marks.name(each))}: <span>{escape(', '.join(parts))}</span></button></li>"
        )


def _groups(heard: Heard) -> str:
    found = summary.groups([heard])
    tending = "".join(f"<li>{escape(group.words)}</li>" for group in found if group.tends)
    others = "".join(f"<li>{escape(each.chance_words)}</li>" for each in found if not each.tends)
    asked = words.question([heard])
    parts = [
        f"<ul>{tending}</ul>" if tending else "",
        f"<p>What follows may be chance.</p><ul>{others}</ul>" if others else "",
        "" if found else "<p>Too few notes to say more.</p>",
        _paragraphs([asked] if asked else ()),
    ]
    return "".join(parts)


def _paragraphs(lines: Iterable[str]) -> str:
    return "".join(f"<p>{escape(line)}</p>" for line in lines if line)
