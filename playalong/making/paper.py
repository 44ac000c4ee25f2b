"""What a build prints and shows: the sheet, and the page to practise from."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from playalong.drill.model import Drill
from playalong.folder.files import Settle, in_its_place, write_bytes
from playalong.folder.made import Made
from playalong.folder.manifest import Manifest
from playalong.folder.names import PAGE_FILE
from playalong.folder.record import Record, opened
from playalong.making.fingerprint import bars_of
from playalong.making.plan import Options, RungPlan
from playalong.making.session import Stretch, stretches
from playalong.performance.timeline import Timeline, TimelineError
from playalong.performance.timing import timeline_of

if TYPE_CHECKING:
    from playalong.page.content import PracticeSet
    from playalong.score.model import Score
    from playalong.sheet.render import SheetFiles

SHEET_FORMATS = ("pdf", "musicxml")  # `playalong sheet` draws pictures for the screen too


@dataclass(frozen=True)
class PaperMade:
    """Files written, with their hashes, and what the manifest says of them."""

    sha256: Mapping[str, str]
    told: Mapping[str, Any]

    def data(self) -> dict[str, Any]:
        return {"sha256": dict(self.sha256), "told": dict(self.told)}


def make_sheet(
    drill: Drill, scores: Sequence[Score], options: Options, out: Path, record: Record
) -> PaperMade:
    """The sheet of every key and string, in the order of practice."""
    from playalong.sheet.render import render_sheet  # the engraver takes its time to load

    files, contents = render_sheet(drill, scores, paper=options.paper, formats=SHEET_FORMATS)
    return _write(files, contents, out, record)


@dataclass(frozen=True)
class Printed:
    """A sheet alone: its files, those of them that somebody has changed, with where the new ones
    stand, and what the person should know."""

    files: SheetFiles
    changed: Mapping[str, str]
    remarks: tuple[str, ...]


def print_sheet(drill: Drill, scores: Sequence[Score], out: Path, paper: str) -> Printed:
    """The sheet alone, with pictures for the screen, as the folder's own files."""
    from playalong.sheet.render import render_sheet

    files, contents = render_sheet(drill, scores, paper=paper)
    with opened(out) as record:
        record.belongs_to(drill.title, Path(drill.file).name, bars_of(drill))
        made = _write(files, contents, out, record)
        record.add("sheet", Made("printed alone", record.states(made.sha256), made.data()))
    return Printed(files, dict(record.changed), tuple(record.remarks))


def _write(
    files: SheetFiles, contents: Mapping[str, bytes], out: Path, record: Record
) -> PaperMade:
    """The sheet's files, claimed before the first is written."""
    record.claim(contents)
    hashes = {
        name: write_bytes(out / name, content, record.settle) for name, content in contents.items()
    }
    return PaperMade(hashes, {"pdf": files.pdf, "musicxml": list(files.musicxml)})


def make_page(
    drill: Drill,
    sets: Sequence[Sequence[RungPlan]],
    manifest: Manifest,
    options: Options,
    out: Path,
    settle: Settle = in_its_place,
) -> PaperMade:
    """The practice page of all tracks that the manifest lists: the rungs of each key and string."""
    from playalong.page.html import write_page

    shown = [_shown(drill, rungs, manifest, options, out) for rungs in sets]
    hashes = {}

    def noted(path: Path, sha: str) -> Path:
        hashes[PAGE_FILE] = sha
        return settle(path, sha)

    write_page(
        out, manifest, drill, shown, one_file=options.one_file, split=options.split, settle=noted
    )
    return PaperMade(hashes, {"page": PAGE_FILE})


def _shown(
    drill: Drill, rungs: Sequence[RungPlan], manifest: Manifest, options: Options, out: Path
) -> PracticeSet:
    """One key and string for the page; its timelines are taken as they are asked for."""
    from playalong.page.content import PracticeSet

    def timelines(listed: Iterable[Stretch]) -> Iterator[Timeline]:
        return (_timeline(each, out / each.track.files(options).timeline) for each in listed)

    score = rungs[0].score
    here = (score.key.name, score.string)
    tracks = [entry for entry in manifest.tracks if (entry.key, entry.string) == here]
    sessions = [entry for entry in manifest.sessions if (entry.key, entry.string) == here]
    whole = [Stretch(rung, track) for rung in rungs for track in rung.tracks]
    return PracticeSet(
        score,
        zip(tracks, timelines(whole), strict=True),
        [(entry, timelines(stretches(drill, rungs, options))) for entry in sessions],
    )


def _timeline(stretch: Stretch, file: Path) -> Timeline:
    """A track's as it was written beside its sound; a part's, or one without bars, is made."""
    if stretch.is_whole:
        with suppress(OSError, ValueError, TimelineError):
            written = Timeline.from_json(file.read_text(encoding="utf-8"))
            if written.bars:
                return written
    return timeline_of(stretch.performance())
