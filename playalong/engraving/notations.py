"""What hangs at a note in MusicXML: type, ties, tuplets, slurs, slides, fingers, strings, bows."""

from __future__ import annotations

from collections.abc import Sequence
from xml.etree.ElementTree import Element, SubElement

from playalong.engraving.markings import Markings
from playalong.engraving.note_values import NoteValue
from playalong.engraving.written_score import Ghost, NoteOrRest
from playalong.instrument.instruments import Instrument
from playalong.instrument.position import THUMB

# Under the notes, as fingers and bows stand above.
TUPLET_LOOK = {"bracket": "yes", "placement": "below"}
BOW_MARKS = {"down": "down-bow", "up": "up-bow"}


def add(parent: Element, name: str, text: object = None, **attributes: object) -> Element:
    """A new last child of `parent`."""
    element = SubElement(parent, name, {key: str(value) for key, value in attributes.items()})
    if text is not None:
        element.text = str(text)
    return element


def note_type(element: Element, value: NoteValue) -> None:
    add(element, "type", value.type)
    for _ in range(value.dots):
        add(element, "dot")


def time_modification(element: Element, value: NoteValue) -> None:
    if value.ratio:
        ratio = add(element, "time-modification")
        add(ratio, "actual-notes", value.ratio[0])
        add(ratio, "normal-notes", value.ratio[1])


def ties(element: Element, name: str, each: NoteOrRest) -> None:
    if each.piece:
        add(element, name, type="stop")
    if each.tied_on:
        add(element, name, type="start")


def note_notations(
    element: Element,
    each: NoteOrRest,
    markings: Markings | None,
    tuplet: Sequence[str],
    instrument: Instrument,
) -> None:
    """What hangs at a note or rest; a rest has no markings.

    A slur spans a tied note whole, but one from a grace note ends at its first piece; a slide
    leaves its last piece.
    """
    notations = Element("notations")
    ties(notations, "tied", each)
    for kind in tuplet:
        add(notations, "tuplet", type=kind, **(TUPLET_LOOK if kind == "start" else {}))
    if markings:
        is_first, is_last = not each.piece, not each.tied_on
        if is_first:
            if markings.slide_stop:
                _slide(notations, "stop", each.number)
            _technical(notations, markings, instrument)
        if is_last and markings.slide_start:
            _slide(notations, "start", each.number + 1)
        for kind, here in (
            ("stop", markings.slur_stop and (is_first if markings.slur_is_grace else is_last)),
            ("start", markings.slur_start and is_first),
        ):
            if here:
                add(notations, "slur", type=kind, number=1)
    if len(notations):
        element.append(notations)


def ghost_notations(element: Element, ghost: Ghost, instrument: Instrument) -> None:
    notations = add(element, "notations")
    _slide(notations, "stop" if ghost.slide_from_note else "start", ghost.number)
    technical = add(notations, "technical")
    _finger(technical, ghost.finger)
    add(technical, "string", instrument.string_number(ghost.string))


def _slide(notations: Element, kind: str, landing: int) -> None:
    """Numbered 1 and 2 in turn by the note that it leads to: one may begin where another ends."""
    add(notations, "slide", type=kind, number=landing % 2 + 1)


def _finger(technical: Element, finger: int) -> None:
    if finger == THUMB:
        add(technical, "thumb-position", placement="above")
    else:
        add(technical, "fingering", finger, placement="above")


def _technical(notations: Element, markings: Markings, instrument: Instrument) -> None:
    technical = Element("technical")
    if markings.bow:
        add(technical, BOW_MARKS[markings.bow])
    if markings.finger is not None:
        _finger(technical, markings.finger)
    if markings.harmonic:
        harmonic = add(technical, "harmonic")
        add(harmonic, "natural")
        add(harmonic, "sounding-pitch")  # which is the one that is written
    if markings.string:
        add(technical, "string", instrument.string_number(markings.string))
    if len(technical):
        notations.append(technical)
