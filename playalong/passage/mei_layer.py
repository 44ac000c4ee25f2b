"""One layer of a bar of MEI to notes: durations add up, tuplets and tremolos scale them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from xml.etree.ElementTree import Element

from playalong.errors import short
from playalong.music.pitch import LETTERS, Pitch
from playalong.passage.mei_marks import ID, AllMarks, Marks
from playalong.passage.mei_repeats import bar_again, bars_meant, beat_meant, end_again
from playalong.passage.model import BarError, ScoreBar, ScoreNote
from playalong.passage.note_reader import dotted, whole

DURATIONS = {"maxima": Fraction(32), "long": Fraction(16), "breve": Fraction(8)} | {
    str(2**n): Fraction(4, 2**n) for n in range(9)
}
MOST_DOTS = 4
HALF = Fraction(1, 2)
ACCIDENTALS: Mapping[str, int | Fraction] = {
    "n": 0, "s": 1, "ss": 2, "x": 2, "xs": 3, "sx": 3, "ts": 3, "f": -1, "ff": -2, "tf": -3,
    "ns": 1, "nf": -1, "su": 1 + HALF, "sd": HALF, "fu": -HALF, "fd": -1 - HALF, "nu": HALF,
    "nd": -HALF, "1qs": HALF, "3qs": 1 + HALF, "1qf": -HALF, "3qf": -1 - HALF,
}  # fmt: skip
# To the names of MusicXML, by which marks are told.
ARTICULATIONS = {
    "acc": "accent", "stacc": "staccato", "ten": "tenuto", "stacciss": "staccatissimo",
    "marc": "strong-accent", "spicc": "spiccato", "snap": "snap-pizzicato", "lhpizz": "stopped",
}  # fmt: skip
BOWS = {"upbow": "up-bow", "dnbow": "down-bow"}
WRAPPERS = ("beam", "supplied", "unclear", "corr", "reg", "lem", "add", "expan")


@dataclass
class Layer:
    """Reads one layer of a bar; `bar` is that bar without its notes, `before` those before it."""

    bar: ScoreBar
    before: Sequence[ScoreBar]
    voice: str
    marks: AllMarks
    signature: Mapping[int, int]  # what it does to a letter, where notes do not say it themselves
    duration: str = ""  # of notes that have none of their own
    octave: str = ""
    now: Fraction = Fraction(0)
    notes: list[ScoreNote] = field(default_factory=list)
    in_bar: dict[int, int | Fraction] = field(default_factory=dict)  # accidentals by index
    bars_again: int = 0  # how many bars a sign repeats, of which this is the first

    def read(self, element: Element, ratio: Fraction = Fraction(1), *, grace: bool = False) -> None:
        for child in element:
            self._element(child, ratio, grace=grace)

    def _element(self, element: Element, ratio: Fraction, *, grace: bool) -> None:
        match element.tag:
            case "note" | "chord" | "rest" | "space":
                self._event(element, ratio, grace=grace or element.get("grace") is not None)
            case "mRest" | "multiRest":
                self.notes.append(ScoreNote(self.now, self.bar.length, voice=self.voice))
                self.now += self.bar.length
            case "mSpace":
                self.now += self.bar.length
            case "tuplet":
                self._tuplet(element, ratio, grace=grace)
            case "bTrem" | "fTrem":
                before = len(self.notes)
                self.read(element, ratio / 2 if element.tag == "fTrem" else ratio, grace=grace)
                self.notes[before:] = [
                    replace(each, ornaments=(*each.ornaments, "tremolo"))
                    for each in self.notes[before:]
                ]
            case "graceGrp":
                self.read(element, ratio, grace=True)
            case "app" | "choice":  # of several readings the first that is not replaced by another
                kept = [each for each in element if each.tag in WRAPPERS] or list(element)
                for each in kept[:1]:
                    self.read(each, ratio, grace=grace)
            case tag if tag in WRAPPERS:
                self.read(element, ratio, grace=grace)
            case "mRpt" | "mRpt2" | "multiRpt":
                self.bars_again = bars_meant(element)
                self._again(*bar_again(self.before, self.bars_again, self.voice))
            case "halfmRpt":
                self._again(*end_again(self.notes, self.now, self.bar.length / 2))
            case "beatRpt":
                self._again(*end_again(self.notes, self.now, beat_meant(element, self.bar.meter)))

    def _again(self, notes: Iterable[ScoreNote], length: Fraction) -> None:
        """What a sign stands for: notes from a beginning of their own."""
        self.notes += [replace(each, at=each.at + self.now) for each in notes]
        self.now += length

    def _tuplet(self, element: Element, ratio: Fraction, *, grace: bool) -> None:
        count, normal = whole(element.get("num"), 3), whole(element.get("numbase"), 2)
        if not (0 < count < 1000 and 0 < normal < 1000):
            raise BarError(f"it has a tuplet of {count} in the time of {normal}")
        before = len(self.notes)
        self.read(element, ratio * Fraction(normal, count), grace=grace)
        self.notes[before:] = [
            replace(each, tuplet=(count, normal)) for each in self.notes[before:]
        ]

    def _event(self, element: Element, ratio: Fraction, *, grace: bool) -> None:
        length = Fraction(0) if grace else self._length(element) * ratio
        if element.tag == "rest":
            self.notes.append(ScoreNote(self.now, length, voice=self.voice))
        elif element.tag != "space":
            heads = [element] if element.tag == "note" else list(element.iter("note"))
            for place, head in enumerate(heads):
                own = self._note(head, element, length, grace=grace, is_first=place == 0)
                self.notes.append(own)
        self.now += length

    def _length(self, element: Element) -> Fraction:
        inside = next((each for each in element.iter("note") if each.get("dur")), element)
        name = element.get("dur") or inside.get("dur") or self.duration
        dots = whole(element.get("dots") or inside.get("dots"))
        dots = dots or sum(each.tag == "dot" for each in element)
        if name not in DURATIONS or not 0 <= dots <= MOST_DOTS:
            raise BarError(f'"{short(name, 20)}" is no length of a note')
        return DURATIONS[name] * dotted(dots)

    def _note(
        self, note: Element, event: Element, length: Fraction, *, grace: bool, is_first: bool
    ) -> ScoreNote:
        """`event` is the note itself, or its chord, whose marks the first head has."""
        pitch, microtone = self._pitch(note)
        own, all_ = self.marks.of(note.get(ID)), self.marks.of(event.get(ID))
        marks = [own, all_] if is_first and event is not note else [own]
        ties = note.get("tie", "") + (event.get("tie", "") if event is not note else "")
        slurs = [each for one in {note, event} for each in one.get("slur", "").split() if is_first]
        artics = [word for one in {note, event} for word in _articulations(one) if is_first]
        return ScoreNote(
            self.now,
            length,
            pitch,
            self.voice,
            is_chord=not is_first,
            is_grace=grace,
            is_cue="true" in (note.get("cue"), event.get("cue")),
            microtone=microtone,
            tie_to_next=own.tie_to_next or all_.tie_to_next or "i" in ties or "m" in ties,
            tie_from_last=own.tie_from_last or all_.tie_from_last or "t" in ties or "m" in ties,
            fingers=tuple(each for mark in marks for each in mark.fingers),
            other_fingers=tuple(each for mark in marks for each in mark.other_fingers),
            is_open="open" in artics,
            harmonic="natural" if "harm" in artics else "",
            bow=next((BOWS[each] for each in artics if each in BOWS), ""),
            slur_starts=_count(marks, "slur_starts") + sum(each[0] == "i" for each in slurs),
            slur_stops=_count(marks, "slur_stops") + sum(each[0] == "t" for each in slurs),
            slide_stops=any(mark.slide_stops for mark in marks),
            ornaments=tuple(each for mark in marks for each in mark.ornaments),
            articulations=(
                *(ARTICULATIONS[each] for each in artics if each in ARTICULATIONS),
                *(each for mark in marks for each in mark.articulations),
            ),
        )

    def _pitch(self, note: Element) -> tuple[Pitch, Fraction]:
        name, octave = note.get("pname", "").upper(), whole(note.get("oct") or self.octave, -1)
        if len(name) != 1 or name not in LETTERS or not 0 <= octave <= 9:
            raise BarError("a note has no readable pitch")
        index = 7 * octave + LETTERS.index(name)
        inside = next(note.iter("accid"), note)
        written, sounds = (note.get(key) or inside.get(key) for key in ("accid", "accid.ges"))
        if written:
            self.in_bar[index] = ACCIDENTALS.get(written, 0)
        alter = self.in_bar.get(index, self.signature.get(index % 7, 0)) if self.signature else 0
        alter = ACCIDENTALS.get(sounds or written or "", alter)
        below = math.floor(alter)
        return Pitch(index, below), Fraction(alter) - below


def _count(marks: list[Marks], name: str) -> int:
    return sum(getattr(mark, name) for mark in marks)


def _articulations(element: Element) -> Iterator[str]:
    yield from element.get("artic", "").split()
    for child in element:
        if child.tag == "artic":
            yield from child.get("artic", "").split()
