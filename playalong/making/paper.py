"""What a build prints and shows: the sheet, and the page to practise from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from playalong.drill.model import Drill
from playalong.folder.files import sha256, write_bytes
from playalong.folder.manifest import Manifest
from playalong.folder.names import PAGE_FILE
from playalong.folder.record import Made, Record, opened, states
from playalong.making.plan import Options

if TYPE_CHECKING:
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


def print_sheet(drill: Drill, scores: Sequence[Score], out: Path, paper: str) -> SheetFiles:
    """The sheet alone, with pictures for the screen, as the folder's own files."""
    from playalong.sheet.render import render_sheet

    files, contents = render_sheet(drill, scores, paper=paper)
    with opened(out) as record:
        made = _write(files, contents, out, record)
        record.add("sheet", Made("printed alone", states(out, made.sha256), made.data()))
    return files


def _write(
    files: SheetFiles, contents: Mapping[str, bytes], out: Path, record: Record
) -> PaperMade:
    """The sheet's files, claimed before the first is written."""
    record.claim(contents)
    for name, content in contents.items():
        write_bytes(out / name, content)
    hashes = {name: sha256(out / name) for name in contents}
    return PaperMade(hashes, {"pdf": files.pdf, "musicxml": list(files.musicxml)})


def make_page(
    drill: Drill, scores: Sequence[Score], manifest: Manifest, options: Options, out: Path
) -> PaperMade:
    """The practice page of all tracks that the manifest lists."""
    from playalong.page.html import write_page

    write_page(out, manifest, drill, scores, one_file=options.one_file)
    return PaperMade({PAGE_FILE: sha256(out / PAGE_FILE)}, {"page": PAGE_FILE})
