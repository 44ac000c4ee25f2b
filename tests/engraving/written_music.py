"""A bar as it is written down: its MusicXML, and what tests look for in it."""

from __future__ import annotations

from xml.etree.ElementTree import Element, fromstring

from playing import drill_of

from playalong.engraving.musicxml import musicxml
from playalong.engraving.written_score import WrittenScore, write_down
from playalong.score.writing import write


def written_score(bar: str, more: str = "", *, instrument: str = "violin") -> WrittenScore:
    """The bar in its drill's first key and on its first string."""
    return write_down(write(drill_of(bar, more, instrument=instrument)))


def music(bar: str, more: str = "", *, instrument: str = "violin") -> Element:
    return fromstring(musicxml(written_score(bar, more, instrument=instrument)))


def main_notes(root: Element) -> list[Element]:
    """Notes and rests of the drill itself, without ghost notes."""
    return [note for note in root.iter("note") if note.findtext("voice") == "1"]
