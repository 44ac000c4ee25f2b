"""What MEI says of a note from outside it: ties, slurs, fingers, ornaments, by the note's id.

Such marks stand at the end of a bar and may point into one to come, so they are collected before
any note is read.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from xml.etree.ElementTree import Element

from playalong.errors import short
from playalong.passage.xml_events import BAR, elements

ID = "{http://www.w3.org/XML/1998/namespace}id"
ORNAMENTS = {"trill": "trill-mark", "mordent": "mordent", "turn": "turn", "ornam": "ornament"}
ARTICULATIONS = {"fermata": "fermata", "breath": "breath-mark", "caesura": "caesura"}
OF_NOTES = ("tie", "lv", "slur", "phrase", "gliss", "fing", *ORNAMENTS, *ARTICULATIONS)


@dataclass(frozen=True)
class Marks:
    tie_to_next: bool = False
    tie_from_last: bool = False
    slur_starts: int = 0
    slur_stops: int = 0
    slide_stops: bool = False
    fingers: tuple[int, ...] = ()
    other_fingers: tuple[str, ...] = ()
    ornaments: tuple[str, ...] = ()
    articulations: tuple[str, ...] = ()

    def __add__(self, other: Marks) -> Marks:
        """Both; no is 0, and a list goes on."""
        return Marks(
            *(getattr(self, each.name) + getattr(other, each.name) for each in fields(self))
        )


NONE = Marks()


class AllMarks:
    """Those of a whole score."""

    def __init__(self, data: bytes) -> None:
        self.by_id: dict[str, Marks] = {}
        self.names_sound = False  # whether any note says how its accidental sounds
        for event, element in elements(data):
            if event == "end" and element.tag == BAR:
                for child in element:
                    self._read(child)
            elif event == "end" and element.get("accid.ges"):
                self.names_sound = True

    def of(self, id_: str | None) -> Marks:
        return self.by_id.get(id_ or "", NONE)

    def _mark(self, id_: str | None, marks: Marks) -> None:
        id_ = (id_ or "").removeprefix("#")
        if id_:
            self.by_id[id_] = self.of(id_) + marks

    def _read(self, element: Element) -> None:
        start, end = element.get("startid"), element.get("endid")
        match element.tag:
            case "tie" | "lv":
                self._mark(start, Marks(tie_to_next=True))
                self._mark(end, Marks(tie_from_last=True))
            case "slur" | "phrase":
                self._mark(start, Marks(slur_starts=1))
                self._mark(end, Marks(slur_stops=1))
            case "gliss":
                self._mark(end, Marks(slide_stops=True))
            case "fing" | "fingGrp":
                for each in element.iter("fing"):
                    self._mark(start, _finger(text_of(each)))
            case tag if tag in ARTICULATIONS:
                self._mark(start, Marks(articulations=(ARTICULATIONS[tag],)))
            case tag if tag in ORNAMENTS:
                self._mark(start, Marks(ornaments=(ORNAMENTS[tag],)))


def _finger(text: str) -> Marks:
    if text in ("0", "1", "2", "3", "4"):
        return Marks(fingers=(int(text),))
    return Marks(other_fingers=(short(text, 8),)) if text else NONE


def text_of(element: Element | None) -> str:
    return " ".join("".join(element.itertext()).split()) if element is not None else ""
