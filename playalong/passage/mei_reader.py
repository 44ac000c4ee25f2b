"""MEI (3 to 5, common notation) to parts, bar by bar; every staff is a part.

Attributes and elements say the same in MEI, and both are read. A file that nowhere says how an
accidental sounds is read by its signatures and the accidentals of each bar.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from xml.etree.ElementTree import Element

from playalong.errors import short
from playalong.music.key import Key
from playalong.music.meter import Meter
from playalong.music.pitch import LETTER_FIFTHS
from playalong.music.transposition import AS_WRITTEN, Transposition
from playalong.passage.mei_layer import DURATIONS, Layer
from playalong.passage.mei_marks import OF_NOTES, AllMarks, text_of
from playalong.passage.mei_repeats import bar_again
from playalong.passage.meters import meter_of
from playalong.passage.model import (
    CHANGES,
    DYNAMICS,
    BarError,
    Keep,
    Part,
    PartName,
    PassageError,
    ScoreBar,
    ScoreNote,
)
from playalong.passage.note_reader import dotted, whole
from playalong.passage.numbering import numbered
from playalong.passage.xml_events import elements

MOST_RESTS = 500  # bars of one multiRest
BY_BEAT = "marks that MEI sets by the beat, not by their notes"
READINGS = "other readings of the bar than the first (app)"
LOUDNESS = ("dynam", "hairpin")
REPEATS: Mapping[str, Mapping[str, tuple[str, ...]]] = {
    "left": {"rptstart": ("forward",)},
    "right": {
        "rptend": ("backward",),
        "rptboth": ("backward", "forward"),
        "rptstart": ("forward",),
    },
}


@dataclass
class _Staff:
    """What is in force on one staff."""

    name: PartName
    bars: list[ScoreBar] = field(default_factory=list)
    signature: int | None = 0
    mode: str = ""
    meter: Meter | None = field(default_factory=lambda: Meter(4, 4))
    meter_words: str = ""
    clef: str = ""
    transposition: Transposition = AS_WRITTEN
    duration: str = ""
    octave: str = ""
    again: tuple[int, int] = (0, 0)  # how far back a sign repeats bars, and how many are left

    def define(self, element: Element) -> None:
        """Take over what a scoreDef, staffDef or a sign among the notes changes."""
        inside = {child.tag: child for child in element} | {element.tag: element}
        signs = inside.get("keySig", element).get("sig") or element.get("keysig")
        self._key(signs or element.get("key.sig"), inside.get("keySig", element).get("mode"))
        self.mode = element.get("key.mode") or self.mode
        meter = inside.get("meterSig")
        count = element.get("meter.count") if meter is None else meter.get("count")
        unit = element.get("meter.unit") if meter is None else meter.get("unit")
        sign = element.get("meter.sym") if meter is None else meter.get("sym")
        self._meter(count, unit, sign)
        clef = inside.get("clef")
        shape, line = (
            (element.get("clef.shape"), element.get("clef.line"))
            if clef is None
            else (clef.get("shape"), clef.get("line"))
        )
        self.clef = f"{shape}{line or ''}" if shape else self.clef
        if element.get("trans.semi") or element.get("trans.diat"):
            letters, semitones = whole(element.get("trans.diat")), whole(element.get("trans.semi"))
            self.transposition = Transposition(letters, semitones)
        self.duration = element.get("dur.default") or self.duration
        self.octave = element.get("oct.default") or self.octave

    def _key(self, signs: str | None, mode: str | None) -> None:
        if signs is None:
            return
        match = re.fullmatch(r"([0-7])([sf]?)", signs)
        self.signature = int(match[1]) * (-1 if match[2] == "f" else 1) if match else None
        self.mode = mode or ""

    def _meter(self, count: str | None, unit: str | None, sign: str | None) -> None:
        if count is None and sign:
            count, unit = {"common": ("4", "4"), "cut": ("2", "2")}.get(sign, (None, None))
        if count is None:
            return
        self.meter, self.meter_words = meter_of(f"{count}/{unit}")

    @property
    def length(self) -> Fraction:
        return self.meter.bar if self.meter else Fraction(4)

    @property
    def alterations(self) -> dict[int, int]:
        """What the signature does to each letter."""
        signs = self.signature or 0
        return {letter: (signs - fifth + 5) // 7 for letter, fifth in enumerate(LETTER_FIFTHS)}


def read_mei(data: bytes, keep: Keep, _key: Key | None) -> tuple[Part, ...]:
    """The parts that `keep` keeps, if they hold music. PassageError for what is no score."""
    score = _Score(AllMarks(data), keep)
    open_tags: list[str] = []
    for event, element in elements(data):
        if event == "start":
            open_tags.append(element.tag)
            score.readings.open(element.tag)
            if element.tag == "ending":
                score.ending = [f"{short(element.get('n', ''), 8)} start"]
            continue
        open_tags.pop()
        score.readings.close(element.tag)
        match element.tag:
            case "title" if "titleStmt" in open_tags:
                score.title = score.title or short(text_of(element), 200)
            case "scoreDef":
                score.define(element)
            case "staffDef" if "scoreDef" not in open_tags:
                score.define(element)
            case "measure":
                if score.readings.is_read:
                    score.bar(element)
            case "ending":
                score.end()
    return score.parts()


class _Readings:
    """Of what stands in several (app), the first is read: where bars are parts of a reading, it
    is known by its turn."""

    def __init__(self) -> None:
        self.turns: list[int] = []  # of each app that is open, how many readings have begun

    def open(self, tag: str) -> None:
        if tag == "app":
            self.turns.append(0)
        elif tag in ("lem", "rdg") and self.turns:
            self.turns[-1] += 1

    def close(self, tag: str) -> None:
        if tag == "app" and self.turns:
            self.turns.pop()

    @property
    def is_read(self) -> bool:
        return all(turn <= 1 for turn in self.turns)

    @property
    def are_several(self) -> bool:
        return bool(self.turns)


class _Score:
    """All staves that are kept, from one bar to the next."""

    def __init__(self, marks: AllMarks, keep: Keep) -> None:
        self.marks, self.keep = marks, keep
        self.title = ""
        self.staves: dict[str, _Staff] | None = None  # the kept ones, by number
        self.ending: list[str] = []
        self.tempo: float | None = None  # of a definition, for the bar after it
        self.readings = _Readings()

    def define(self, element: Element) -> None:
        if self.staves is None:
            defined = {each.get("n", ""): each for each in element.iter("staffDef")}
            names = {
                n: PartName(number, n, _name(element, each))
                for number, (n, each) in enumerate(defined.items(), 1)
            }
            if not names:
                return
            kept = self.keep(tuple(names.values()))
            self.staves = {n: _Staff(name) for n, name in names.items() if name in kept}
        self.tempo = _number(element.get("midi.bpm")) or self.tempo
        for n, staff in self.staves.items():
            if element.tag == "scoreDef" or element.get("n") == n:
                staff.define(element)
            for each in element.iter("staffDef"):
                if each.get("n") == n and each is not element:
                    staff.define(each)

    def bar(self, measure: Element) -> None:
        for n, staff in (self.staves or {}).items():
            where = f"bar {short(measure.get('n', '') or str(len(staff.bars) + 1), 16)}"
            layers = [
                layer
                for each in measure.iter("staff")
                if each.get("n") == n
                for layer in each.iter("layer")
            ]
            rests = [each for layer in layers for each in layer.iter("multiRest")]
            count = whole(rests[0].get("num"), 1) if rests else 1
            if not 0 < count <= MOST_RESTS:
                raise PassageError(f"{where} rests for {count} bars")
            bar = self._bar(measure, staff, layers, n)
            staff.bars += [bar] * count
        self.ending, self.tempo = [], None

    def end(self) -> None:
        """The bar that was last is the last of an ending."""
        for staff in (self.staves or {}).values():
            for bar in staff.bars[-1:]:
                staff.bars[-1] = replace(bar, endings=(*bar.endings, "stop"))

    def parts(self) -> tuple[Part, ...]:
        if self.staves is None:
            self.keep(())
        return tuple(
            Part(staff.name, tuple(numbered(staff.bars)), self.title)
            for staff in (self.staves or {}).values()
            if staff.bars
        )

    def _bar(self, measure: Element, staff: _Staff, layers: list[Element], n: str) -> ScoreBar:
        bar = ScoreBar(
            short(measure.get("n", ""), 16),
            staff.length,
            (),
            staff.signature,
            staff.mode,
            staff.meter,
            staff.meter_words,
            staff.clef,
            staff.transposition,
            measure.get("metcon") == "false",
            REPEATS["left"].get(measure.get("left", ""), ())
            + REPEATS["right"].get(measure.get("right", ""), ()),
            tuple(self.ending),
            next(_tempi(measure), self.tempo),
            tuple(text for tag in ("tempo", "dir", "reh") for text in _texts(measure, tag, n)),
            (BY_BEAT,) * any(_is_by_beat(each, n) for each in measure)
            + (DYNAMICS,) * any(_is_of(each, n) for each in measure if each.tag in LOUDNESS)
            + (CHANGES,) * any(map(_has_change, layers))
            + (READINGS,) * self.readings.are_several,
        )
        try:
            bar = self._filled(bar, staff, layers)
        except BarError as error:
            bar = bar.unreadable(str(error))
        for layer in layers:
            for tag in ("clef", "keySig", "meterSig"):
                for each in layer.iter(tag):
                    staff.define(each)
        return bar

    def _filled(self, bar: ScoreBar, staff: _Staff, layers: list[Element]) -> ScoreBar:
        """A bar with its notes. BarError for what cannot be read."""
        signature = {} if self.marks.names_sound else staff.alterations
        notes, length, again = list[ScoreNote](), Fraction(0), 0
        for place, layer in enumerate(layers, 1):
            voice = layer.get("n") or str(place)
            reader = Layer(
                bar, staff.bars, voice, self.marks, signature, staff.duration, staff.octave
            )
            reader.read(layer)
            notes += reader.notes
            length, again = max(length, reader.now), max(again, reader.bars_again)
        back, left = staff.again
        staff.again = (again, again - 1) if again else (back, left - 1)
        if left > 0 and not notes:  # of several bars that one sign repeats
            notes, length = bar_again(staff.bars, back, "")
        return replace(bar, notes=tuple(notes), length=length)


def _name(score: Element, staff: Element) -> str:
    """What a staff is called: itself, its instrument, or the group that it is the only one of."""
    groups = [each for each in score.iter("staffGrp") if list(each.iter("staffDef")) == [staff]]
    for each in (staff, *reversed(groups)):
        instrument = each.find("instrDef")
        name = text_of(each.find("label")) or each.get("label", "")
        if not name and instrument is not None:
            name = instrument.get("midi.instrname", "")
        if name:
            return short(name)
    return ""


def _tempi(measure: Element) -> Iterator[float]:
    """In quarters a minute."""
    for each in measure.iter("tempo"):
        marked, unit = _number(each.get("mm")), DURATIONS.get(each.get("mm.unit", "4"))
        dots = dotted(min(max(whole(each.get("mm.dots")), 0), 4))
        if found := _number(each.get("midi.bpm")):
            yield found
        elif marked and unit:
            yield marked * float(unit * dots)


def _number(text: str | None) -> float | None:
    match = re.fullmatch(r"[0-9]{1,4}(\.[0-9]{1,9})?", text or "")
    return (float(match[0]) or None) if match else None


def _texts(measure: Element, tag: str, staff: str) -> Iterator[str]:
    for each in measure.iter(tag):
        text = text_of(each)
        if text and _is_of(each, staff):
            yield text


def _has_change(layer: Element) -> bool:
    """Whether a key or meter changes after some note and before another."""
    kinds = [each.tag for each in layer.iter() if each.tag in ("note", "keySig", "meterSig")]
    return re.search("note .*Sig.* note", " ".join(kinds)) is not None


def _is_by_beat(mark: Element, staff: str) -> bool:
    return mark.tag in OF_NOTES and mark.get("startid") is None and _is_of(mark, staff)


def _is_of(mark: Element, staff: str) -> bool:
    """Whether it is set on a staff; a mark that names none is of all."""
    return staff in mark.get("staff", staff).split()
