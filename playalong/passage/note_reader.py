"""One <note> of MusicXML to a ScoreNote."""

from __future__ import annotations

import math
import re
from fractions import Fraction
from functools import lru_cache
from xml.etree.ElementTree import Element

from playalong.engraving.note_values import TYPES
from playalong.errors import short
from playalong.music.pitch import LETTERS, Pitch
from playalong.passage.model import BarError, ScoreNote

LONGEST_QUARTERS = 1_000
KEPT_LENGTHS = 1024
_OF_FRETS = ("fret", "hammer-on", "pull-off", "bend", "tap")
NO_MICROTONE = Fraction(0)
_QUARTERS = dict(TYPES)
_ACCIDENTALS = {"sharp": 1, "flat": -1, "double-sharp": 2, "sharp-sharp": 2, "flat-flat": -2}


@lru_cache(KEPT_LENGTHS)
def quarters(text: str | None, divisions: Fraction) -> Fraction:
    """A <duration> in quarters; equal ones are one object, since a score has few and many times."""
    length = exact(text) / divisions
    if abs(length) > LONGEST_QUARTERS:
        raise BarError(f'"{short(text or "", 20)}" is no length of a note')
    return length


def tuplet_length(note: Element, length: Fraction, divisions: Fraction) -> Fraction:
    """A length that its file had to round to whole divisions, as the signs of its note tell it:
    480 parts of a quarter hold no septuplet."""
    modification = note.find("time-modification")
    count, normal = (1, 1) if modification is None else _tuplet(modification)
    plain = _QUARTERS.get((note.findtext("type") or "").strip())
    if not (0 < count < 1000 and 0 < normal < 1000 and plain) or count == normal:
        return length
    told = plain * dotted(min(len(note.findall("dot")), 4)) * normal / count
    return told if abs(told - length) * divisions < 1 else length


def dotted(dots: int) -> Fraction:
    """By how much so many dots lengthen a note."""
    return 2 - Fraction(1, 2**dots)


def exact(text: str | None) -> Fraction:
    words = (text or "0").strip()
    if not re.fullmatch(r"[-+]?\d{1,9}(\.\d{1,9})?", words, re.ASCII):
        raise BarError(f'"{short(words, 20)}" is no number')
    return Fraction(words)


def whole(text: str | None, default: int = 0) -> int:
    """A whole number as it is written somewhere in a score; `default` for what is none."""
    words = (text or "").strip()
    return int(words) if re.fullmatch(r"[-+]?\d{1,6}", words, re.ASCII) else default


def read_note(note: Element, at: Fraction, length: Fraction) -> ScoreNote:
    """BarError for what is wrong with it."""
    tags = {child.tag: child for child in note}
    pitch, microtone = None, Fraction(0)
    if "pitch" in tags:
        pitch, microtone = _pitch(tags["pitch"], note.findtext("accidental"))
    marks = _Marks(note)
    modification = tags.get("time-modification")
    return ScoreNote(
        at,
        length,
        pitch,
        voice=(note.findtext("voice") or "1").strip(),
        is_chord="chord" in tags,
        is_grace="grace" in tags,
        is_cue="cue" in tags,
        is_unpitched="unpitched" in tags,
        microtone=microtone,
        tie_to_next="start" in marks.ties,
        tie_from_last="stop" in marks.ties,
        tuplet=None if modification is None else _tuplet(modification),
        fingers=tuple(marks.fingers),
        other_fingers=tuple(marks.other_fingers),
        strings=tuple(marks.strings),
        is_open=marks.is_open,
        harmonic=marks.harmonic,
        bow=marks.bow,
        slur_starts=marks.slurs.count("start"),
        slur_stops=marks.slurs.count("stop"),
        slide_stops="stop" in marks.slides,
        ornaments=tuple(marks.ornaments),
        articulations=tuple(marks.articulations),
    )


def _pitch(pitch: Element, accidental: str | None) -> tuple[Pitch, Fraction]:
    """What is written, and how far it stands above the nearest half step below it.

    Where no <alter> is given, the accidental that is printed says it.
    """
    step, octave = (pitch.findtext("step") or "").strip(), pitch.findtext("octave")
    if step not in LETTERS or len(step) != 1 or not 0 <= whole(octave, -1) <= 9:
        raise BarError("a note has no readable pitch")
    written = pitch.findtext("alter")
    if written is None:
        below, above = _ACCIDENTALS.get((accidental or "").strip(), 0), NO_MICROTONE
    else:
        below, above = _alteration(written)
    return Pitch(7 * whole(octave) + LETTERS.index(step), below), above


@lru_cache(KEPT_LENGTHS)
def _alteration(text: str) -> tuple[int, Fraction]:
    """Half steps, and what lies above them."""
    alter = exact(text)
    below = math.floor(alter)
    if abs(below) > 3:
        raise BarError(f"a note has {short(str(alter), 20)} sharps or flats")
    return below, alter - below


def _tuplet(modification: Element) -> tuple[int, int]:
    return whole(modification.findtext("actual-notes"), 1), whole(
        modification.findtext("normal-notes"), 1
    )


class _Marks:
    """What stands in a note's <notations>, collected."""

    def __init__(self, note: Element) -> None:
        self.ties = [tie.get("type", "") for tie in note.findall("tie")]
        self.slurs: list[str] = []
        self.slides: list[str] = []
        self.ornaments: list[str] = []
        self.articulations: list[str] = []
        self.fingers: list[int] = []
        self.other_fingers: list[str] = []
        self.strings: list[int] = []
        self.is_open = False
        self.harmonic = self.bow = ""
        printed_ties = []
        for mark in (each for box in note.findall("notations") for each in box):
            kind = mark.get("type", "")
            if mark.tag == "slur":
                self.slurs.append(kind)
            elif mark.tag == "tied":
                printed_ties.append(kind)
            elif mark.tag in ("slide", "glissando"):
                self.slides.append(kind)
            elif mark.tag == "ornaments":
                self.ornaments += [each.tag for each in mark if each.tag != "accidental-mark"]
            elif mark.tag == "articulations":
                self.articulations += [each.tag for each in mark]
            elif mark.tag in ("fermata", "dynamics"):
                self.articulations.append(mark.tag)
            elif mark.tag == "technical":
                for each in mark:
                    self.technical(each)
        self.ties = self.ties or printed_ties

    def technical(self, mark: Element) -> None:
        text = (mark.text or "").strip()
        if mark.tag == "fingering":
            second = "yes" in (mark.get("substitution"), mark.get("alternate"))
            if second or text not in ("0", "1", "2", "3", "4"):
                self.other_fingers.append(short(text, 8))
            else:
                self.fingers.append(int(text))
        elif mark.tag == "string":
            self.strings.append(whole(text))
        elif mark.tag == "open-string":
            self.is_open = True
        elif mark.tag == "harmonic":
            self.harmonic = "natural" if mark.find("artificial") is None else "artificial"
        elif mark.tag in ("up-bow", "down-bow"):
            self.bow = mark.tag
        elif mark.tag not in _OF_FRETS:
            self.articulations.append(mark.tag)
