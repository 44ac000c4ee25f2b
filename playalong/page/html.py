"""write_page: the practice page beside the tracks, or with the sound inside it."""

from __future__ import annotations

import base64
import hashlib
import html
import json
import re
from collections.abc import Iterator, Mapping, Sequence
from importlib.resources import files
from pathlib import Path
from typing import Any

from playalong.drill.model import Drill
from playalong.errors import reason
from playalong.folder.files import Settle, WriteError, in_its_place, write_text
from playalong.folder.manifest import Manifest
from playalong.folder.names import PAGE_FILE, media_type
from playalong.page.content import PracticeSet, page_data

ASSETS = files("playalong.page") / "assets"
SCRIPTS = (  # in the order in which they need each other
    "data", "piece", "loop", "sound", "svg", "score", "picture", "beats",
    "memory", "choose", "say", "words", "keys", "page",
)  # fmt: skip
STYLES = ("colours", "page", "choose", "score", "picture", "transport")
# No request leaves the page. Sound lies beside it (`file:` where it was opened from a folder,
# `'self'` where it was put on a web server) or inside it (`blob:`).
POLICY = (
    "default-src 'none'; script-src '{script}'; style-src '{style}'; img-src data:; "
    "media-src 'self' data: blob: file:; base-uri 'none'; form-action 'none'"
)


def write_page(
    out: Path,
    manifest: Manifest,
    drill: Drill,
    sets: Sequence[PracticeSet],
    *,
    one_file: bool = False,
    settle: Settle = in_its_place,
) -> str:
    """Write OUT/index.html for the tracks of a manifest, which are those of `sets`.

    Returns its name. With `one_file` the sound is inside the page, which then needs no other
    file. Raises PlayalongError where there is no track, or a file cannot be read or written.
    """
    inside = list(_audio(out, manifest)) if one_file else []
    data = page_data(manifest, drill, sets)
    data["inside"] = {name: [f"sound-{n}", kind] for n, (name, kind, _) in enumerate(inside)}
    sounds = "\n".join(
        f'<script type="text/plain" id="sound-{n}">{text}</script>'
        for n, (_, _, text) in enumerate(inside)
    )
    write_text(out / PAGE_FILE, fill(drill.title, data, sounds), settle)
    return PAGE_FILE


def fill(title: str, data: Mapping[str, Any], sounds: str = "") -> str:
    """The page's HTML. Whatever a person wrote is inert: escaped, or inside JSON."""
    script = "(() => {\n" + _joined(SCRIPTS, ".js") + "})();\n"
    style = _joined(STYLES, ".css")
    policy = POLICY.format(script=_hash(script), style=_hash(style))
    parts = {
        "policy": policy,
        "title": html.escape(title),
        "style": style,
        "data": _json(data),
        "script": script,
        "sounds": sounds,
    }
    template = (ASSETS / "page.html").read_text(encoding="utf-8")
    return re.sub(r"\{\{(\w+)\}\}", lambda match: parts[match[1]], template)


def _joined(names: tuple[str, ...], ending: str) -> str:
    texts = ((ASSETS / (name + ending)).read_text(encoding="utf-8") for name in names)
    return '"use strict";\n' * (ending == ".js") + "\n".join(texts)


def _hash(text: str) -> str:
    digest = hashlib.sha256(text.encode("utf-8")).digest()
    return f"sha256-{base64.b64encode(digest).decode('ascii')}"


def _json(data: Mapping[str, Any]) -> str:
    """JSON that no HTML parser takes for anything else."""
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"))
    return text.replace("<", "\\u003c")


def _audio(out: Path, manifest: Manifest) -> Iterator[tuple[str, str, str]]:
    """Name, media type and base64 of every sound file."""
    names = [name for track in manifest.tracks for name in (track.audio, *track.stems.values())]
    names += [session.audio for session in manifest.sessions]
    for name in names:
        try:
            content = (out / name).read_bytes()
        except OSError as error:
            raise WriteError(f"cannot read {out / name}: {reason(error)}") from error
        yield name, media_type(name), base64.b64encode(content).decode("ascii")
