"""The sound that the page plays: inside it, or beside it in stylesheets that hold nothing else.

A page opened from a folder may read no file beside it but scripts and stylesheets; a stylesheet can
carry data and run nothing. `assets/bytes.js` reads both forms back.
"""

from __future__ import annotations

import base64
from collections.abc import Iterator
from pathlib import Path

from playalong.errors import reason
from playalong.folder.files import Settle, WriteError, in_its_place, make_folder, write_pieces
from playalong.folder.manifest import Manifest
from playalong.folder.names import page_sound, played_by_page

PIECE_BYTES = 3 * 2**18  # whole threes, so that base64 goes on without a gap


def held_sounds(manifest: Manifest) -> list[str]:
    """The files that the page plays as samples: those of tracks, not of sessions."""
    return [name for track in manifest.tracks for name in played_by_page(track.audio, track.stems)]


def inside(manifest: Manifest) -> list[str]:
    """What a page holds that needs no other file: sessions, and the sheet to print, too."""
    sessions = [session.audio for session in manifest.sessions]
    sheet = [manifest.sheet["pdf"]] if "pdf" in manifest.sheet else []
    return [*held_sounds(manifest), *sessions, *sheet]


def write_beside(out: Path, name: str, source: Path, settle: Settle = in_its_place) -> str:
    """Write the stylesheet that carries `source`, the sound of that name; returns its hash."""
    path = out / page_sound(name)
    make_folder(path.parent)
    return write_pieces(path, _stylesheet(source), settle)


def element(path: Path, number: int) -> Iterator[bytes]:
    """A file as an element that holds its base64, piece by piece."""
    yield f'<script type="text/plain" id="sound-{number}">'.encode()
    yield from _in_letters(path)
    yield b"</script>\n"


def _stylesheet(source: Path) -> Iterator[bytes]:
    """Properties of one element of the page, none so long that a browser would mind."""
    yield b"#carrier{"
    count = 0
    for letters in _in_letters(source):
        yield b'--piece-%d:"%b";\n' % (count, letters)
        count += 1
    yield b'--pieces:"%d"}\n' % count


def _in_letters(path: Path) -> Iterator[bytes]:
    """A file in base64, piece by piece."""
    try:
        with path.open("rb") as file:
            while raw := file.read(PIECE_BYTES):
                yield base64.b64encode(raw)
    except OSError as error:
        raise WriteError(f"cannot read {path}: {reason(error)}") from error
