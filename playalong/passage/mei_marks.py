"""What MEI says of a note from outside it: ties, slurs, fingers, ornaments, by the note's id.

Such marks stand at the end of a bar and may point into one to come, so they are collected before
any note is read.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from xml.etree.ElementTree import Element

from playalong.errors import short
from playalong.passage.xml_events import BAR, elements

ID = "{http://www.w3.org/XML/1998/namespace}id"
ORNAMENTS = {"trill": "trill-mark", "mordent": "mordent", "turn": "turn", "ornam": "ornament"}


@dataclass
class Marks:
    tie_to_next: bool = False
    tie_from_last: bool = False
    slur_starts: int = 0
    slur_stops: int = 0
    slide_stops: bool = False
    fingers: list[int] = field(default_factory=list)
    other_fingers: list[str] = field(default_factory=list)
    ornaments: list[str] = field(default_factory=list)

    def finger(self, text: str) -> None:
        if text in ("0", "1", "2", "3", "4"):
            self.fingers.append(int(text))
        elif text:
            self.other_fingers.append(short(text, 8))


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
        return self.by_id.get(id_ or "") or Marks()

    def _at(self, element: Element, where: str) -> Marks:
        id_ = element.get(where, "").removeprefix("#")
        return self.by_id.setdefault(id_, Marks()) if id_ else Marks()

    def _read(self, element: Element) -> None:
        start, end = self._at(element, "startid"), self._at(element, "endid")
        match element.tag:
            case "tie" | "lv":
                start.tie_to_next = end.tie_from_last = True
            case "slur" | "phrase":
                start.slur_starts += 1
                end.slur_stops += 1
            case "gliss":
                end.slide_stops = True
            case "fing":
                start.finger(text_of(element))
            case "fingGrp":
                for each in element.iter("fing"):
                    start.finger(text_of(each))
            case tag if tag in ORNAMENTS:
                start.ornaments.append(ORNAMENTS[tag])


def text_of(element: Element | None) -> str:
    return " ".join("".join(element.itertext()).split()) if element is not None else ""
