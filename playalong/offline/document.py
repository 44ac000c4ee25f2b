"""An HTML document with one style and one script of its own, under a policy that lets in no other.

A template is an HTML text in which {{name}} stands for a part.
"""

from __future__ import annotations

import base64
import hashlib
import html
import json
import re
from collections.abc import Mapping
from importlib.resources import files
from typing import Any

ASSETS = files("playalong.offline") / "assets"


def colours() -> str:
    """The style sheet of what colours there are, light and dark."""
    return (ASSETS / "colours.css").read_text(encoding="utf-8")


def document(
    body: str, parts: Mapping[str, str], *, title: str, style: str, script: str, policy: str
) -> str:
    """The head that all pages share, and a template of the rest, filled.

    `title` is plain text. In `policy`, {script} and {style} stand for the hashes of both.
    """
    own = {
        "policy": policy.format(script=_hash(script), style=_hash(style)),
        "title": html.escape(title),
        "style": style,
        "script": script,
    }
    whole = (ASSETS / "head.html").read_text(encoding="utf-8") + body
    known = {**parts, **own}
    return re.sub(r"\{\{(\w+)\}\}", lambda match: known[match[1]], whole)


def inert(data: Mapping[str, Any]) -> str:
    """JSON that no HTML parser takes for anything else."""
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"))
    return text.replace("<", "\\u003c")


def _hash(text: str) -> str:
    digest = hashlib.sha256(text.encode("utf-8")).digest()
    return f"sha256-{base64.b64encode(digest).decode('ascii')}"
