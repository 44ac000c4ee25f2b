"""write_page: the practice page beside the tracks, or with the sound inside it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from importlib.resources import files
from itertools import chain
from pathlib import Path
from typing import Any

from playalong.drill.model import Drill
from playalong.folder.files import Settle, in_its_place, write_pieces
from playalong.folder.manifest import Manifest
from playalong.folder.names import PAGE_FILE, media_type, page_sound
from playalong.offline.document import colours, document, inert
from playalong.page.content import PracticeSet, page_data
from playalong.page.sounds import element, inside

ASSETS = files("playalong.page") / "assets"
SCRIPTS = (  # in the order in which they need each other
    "data", "piece", "loop", "bytes", "ear", "decoded", "streamed", "sound", "svg", "score",
    "picture", "beats", "memory", "choose", "say", "words", "keys", "wav", "awake", "microphone",
    "take", "page",
)  # fmt: skip
STYLES = ("page", "choose", "score", "picture", "transport")
# No request leaves the page. Sound lies beside it (`file:` where it was opened from a folder,
# `'self'` where it was put on a web server) or inside it (`blob:`). 'strict-dynamic' lets the
# page's own script, and nothing else, start the few lines that take blocks from the microphone.
POLICY = (
    "default-src 'none'; script-src '{script}' 'strict-dynamic'; "
    "style-src '{style}' 'self' file:; img-src data:; "
    "media-src 'self' data: blob: file:; base-uri 'none'; form-action 'none'"
)
SOUNDS = "<!-- sounds -->"  # where they go, unless they lie beside the page
# What the moving picture shows, on a string and without one.
PICTURE_WORDS = {
    True: {
        "now": "passing under one string on which a finger moves",
        "ghost": '<li class="ghost">the ghost note, where the old finger will stand</li>',
        "finger": "the finger on the string",
    },
    False: {
        "now": "passing a line that marks now",
        "ghost": "",
        "finger": "the note that is due now",
    },
}


def write_page(
    out: Path,
    manifest: Manifest,
    drill: Drill,
    sets: Sequence[PracticeSet],
    *,
    one_file: bool = False,
    split: bool = False,
    settle: Settle = in_its_place,
) -> str:
    """Write OUT/index.html for the tracks of a manifest, which are those of `sets`.

    Returns its name. With `one_file` the sound is inside the page, which then needs no other
    file. `split` tracks have the guide in one ear and the rest in the other. Raises
    PlayalongError where there is no track, or a file cannot be read or written.
    """
    names = inside(manifest) if one_file else []
    data = page_data(manifest, drill, sets)
    data["split"] = split
    data["beside"] = "" if one_file else page_sound("*")
    data["inside"] = {
        name: [f"sound-{number}", media_type(name)] for number, name in enumerate(names)
    }
    before, after = fill(drill.title, data, on_string=bool(drill.instrument.strings))
    sounds = (piece for number, name in enumerate(names) for piece in element(out / name, number))
    write_pieces(out / PAGE_FILE, chain((before,), sounds, (after,)), settle)
    return PAGE_FILE


def fill(title: str, data: Mapping[str, Any], *, on_string: bool = True) -> tuple[bytes, bytes]:
    """The page's HTML before and after the sound. What a person wrote is inert: escaped, or inside
    JSON."""
    script = "(() => {\n" + _joined(SCRIPTS, ".js") + "})();\n"
    whole = document(
        (ASSETS / "page.html").read_text(encoding="utf-8"),
        {**PICTURE_WORDS[on_string], "data": inert(data), "sounds": SOUNDS},
        title=title,
        style=_joined(STYLES, ".css") + _stripped(colours()),
        script=script,
        policy=POLICY,
    )
    before, after = whole.split(SOUNDS)
    return before.encode(), after.encode()


def _joined(names: tuple[str, ...], ending: str) -> str:
    """The files one after the other, bare."""
    texts = ((ASSETS / (name + ending)).read_text(encoding="utf-8") for name in names)
    return '"use strict";\n' * (ending == ".js") + "".join(map(_stripped, texts))


def _stripped(text: str) -> str:
    """Without indents and lines of comment."""
    lines = (line.strip() for line in text.splitlines())
    return "".join(f"{line}\n" for line in lines if line and not line.startswith("//"))
