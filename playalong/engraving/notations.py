"""What hangs at a note in MusicXML: type, ties, tuplets, slurs, slides, fingers, strings, bows."""

from __future__ import annotations

from collections.abc import Sequence
from xml.etree.ElementTree import Element, SubElement

from playalong.engraving.lengths import Sign
from playalong.engraving.note_marks import NoteMarks
from playalong.engraving.written import Ghost, Written
from playalong.instrument.instruments import Instrument

BOW_MARKS = {"down": "down-bow", "up": "up-bow"}


def add(parent: Element, name: str, text: object = None, **attributes: object) -> Element:
    """A new last child of `parent`."""
    element = SubElement(parent, name, {key: str(value) for key, value in attributes.items()})
    if text is not None:
        element.text = str(text)
    return element


def sign_type(element: Element, sign: Sign) -> None:
    add(element, "type", sign.type)
    for _ in range(sign.dots):
        add(element, "dot")


def sign_ratio(element: Element, sign: Sign) -> None:
    if sign.ratio:
        ratio = add(element, "time-modification")
        add(ratio, "actual-notes", sign.ratio[0])
        add(ratio, "normal-notes", sign.ratio[1])


def ties(element: Element, name: str, written: Written) -> None:
    if written.piece:
        add(element, name, type="stop")
    if written.tied_on:
        add(element, name, type="start")


def note_notations(
    element: Element,
    written: Written,
    all_marks: Sequence[NoteMarks],
    tuplet: Sequence[str],
    instrument: Instrument,
) -> None:
    """The notations of one sign. A slur spans a tied note whole; a slide leaves its last piece."""
    notations = Element("notations")
    ties(notations, "tied", written)
    for kind in tuplet:
        add(notations, "tuplet", type=kind, bracket="yes")
    if written.note:
        marks = all_marks[written.number]
        is_first, is_last = not written.piece, not written.tied_on
        if is_first:
            _slides(notations, "stop", marks.slide_stops)
            _technical(notations, marks, instrument)
        if is_last:
            _slides(notations, "start", marks.slide_starts)
        for kind, here in (
            ("stop", marks.slur_stop and is_last),
            ("start", marks.slur_start and is_first),
        ):
            if here:
                add(notations, "slur", type=kind, number=1)
    if len(notations):
        element.append(notations)


def ghost_notations(element: Element, ghost: Ghost, instrument: Instrument) -> None:
    notations = add(element, "notations")
    kind = "stop" if ghost.slide_from_note else "start"
    _slides(notations, kind, (ghost.number,))
    technical = add(notations, "technical")
    add(technical, "fingering", ghost.finger, placement="above")
    add(technical, "string", instrument.string_number(ghost.string))


def _slides(notations: Element, kind: str, landings: Sequence[int]) -> None:
    """Numbered 1 and 2 in turn, so that one may begin where another ends."""
    for landing in landings:
        add(notations, "slide", type=kind, number=landing % 2 + 1)


def _technical(notations: Element, marks: NoteMarks, instrument: Instrument) -> None:
    technical = Element("technical")
    if marks.bow:
        add(technical, BOW_MARKS[marks.bow])
    if marks.finger is not None:
        add(technical, "fingering", marks.finger, placement="above")
    if marks.string:
        add(technical, "string", instrument.string_number(marks.string))
    if len(technical):
        notations.append(technical)
