"""MusicXML (partwise, 2.0 to 4.0) to parts: what is printed, bar by bar, and nothing made up.

Only the part that is asked for is kept, and the file is read as a stream, bar by bar.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from fractions import Fraction
from xml.etree.ElementTree import Element

from playalong.errors import short
from playalong.music.meter import Meter
from playalong.music.transposition import AS_WRITTEN, Transposition
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
from playalong.passage.note_reader import exact, quarters, read_note, tuplet_length, whole
from playalong.passage.xml_events import BAR, elements, root_name

PARTWISE, TIMEWISE = "score-partwise", "score-timewise"
MOST_SIGNS = 7
_SIGNS = ("segno", "coda", "scordatura")  # that a player reads as words
_BEAT_UNITS = {"whole": 4.0, "half": 2.0, "quarter": 1.0, "eighth": 0.5, "16th": 0.25}


def read_musicxml(data: bytes, keep: Keep) -> tuple[Part, ...]:
    """The parts that `keep` keeps of all, if they hold music. PassageError for what is no score."""
    root = root_name(data)
    if root == TIMEWISE:
        raise PassageError("the score is MusicXML in its timewise form; export it as partwise")
    if root != PARTWISE:
        raise PassageError(f"this is no MusicXML score: it begins with <{short(root, 30)}>")
    names: list[PartName] = []
    kept: tuple[PartName, ...] | None = None
    title, parts, reader = "", list[Part](), _PartReader()
    current: PartName | None = None
    for event, element in elements(data):
        if event == "start":
            if element.tag == "part":
                kept = keep(tuple(names)) if kept is None else kept
                current = _same(kept, names, element.get("id"))
                reader = _PartReader()
        elif element.tag in ("work-title", "movement-title"):
            title = title or _words(element.text)
        elif element.tag == "score-part":
            name = _words(element.findtext("part-name"))
            names.append(PartName(len(names) + 1, element.get("id") or "", name))
        elif element.tag == BAR and current:
            reader.bar(element)
        elif element.tag == "part" and current:
            if reader.bars:
                parts.append(Part(current, tuple(reader.bars), title))
            current = None
    if kept is None:
        keep(tuple(names))
    return tuple(parts)


def _same(kept: tuple[PartName, ...], names: list[PartName], id_: str | None) -> PartName | None:
    """The kept part whose music begins here; a part without an id is the only one there is."""
    if id_ is None and len(names) == 1:
        return kept[0]
    return next((each for each in kept if each.id == (id_ or "")), None)


def _words(text: str | None) -> str:
    return " ".join((text or "").split())


@dataclass
class _PartReader:
    """What is in force, from one bar to the next."""

    divisions: Fraction = Fraction(1)
    signature: int | None = 0
    mode: str = ""
    meter: Meter | None = field(default_factory=lambda: Meter(4, 4))
    meter_words: str = ""
    clef: str = ""
    transposition: Transposition = AS_WRITTEN
    bars: list[ScoreBar] = field(default_factory=list)

    def bar(self, element: Element) -> None:
        number = short(_words(element.get("number")) or str(len(self.bars) + 1), 16)
        reader = _BarReader(self)
        fault = ""
        for child in element:
            try:
                reader.read(child)
            except BarError as error:
                if child.tag == "attributes":  # which hold for what follows, too
                    raise PassageError(f"bar {number}: {error}") from None
                fault = fault or str(error)
        bar = replace(
            reader.begun or self.empty_bar,
            number=number,
            length=reader.top,
            notes=tuple(reader.notes),
            is_implicit=element.get("implicit") == "yes",
            repeats=tuple(reader.repeats),
            endings=tuple(reader.endings),
            tempo=reader.tempo,
            words=tuple(reader.words),
            told=tuple(reader.told),
        )
        self.bars.append(bar.unreadable(fault) if fault else bar)

    @property
    def empty_bar(self) -> ScoreBar:
        """A bar with what is in force now."""
        return ScoreBar(
            "",
            Fraction(0),
            signature=self.signature,
            mode=self.mode,
            meter=self.meter,
            meter_words=self.meter_words,
            clef=self.clef,
            transposition=self.transposition,
        )

    def attributes(self, element: Element) -> None:
        for child in element:
            if child.get("number", "1") != "1":
                continue  # of another staff than the upper one
            if child.tag == "divisions":
                self.divisions = exact(child.text)
                if self.divisions <= 0:
                    raise BarError("its notes have no length (divisions)")
            elif child.tag == "key":
                fifths = whole(child.findtext("fifths"), MOST_SIGNS + 1)
                self.signature = fifths if abs(fifths) <= MOST_SIGNS else None
                self.mode = _words(child.findtext("mode")).lower()
            elif child.tag == "time":
                self.time(child)
            elif child.tag == "clef":
                self.clef = _words(child.findtext("sign")) + _words(child.findtext("line"))
            elif child.tag == "transpose":
                octaves = whole(child.findtext("octave-change"))
                letters = whole(child.findtext("diatonic")) + 7 * octaves
                semitones = whole(child.findtext("chromatic")) + 12 * octaves
                self.transposition = Transposition(letters, semitones)

    def time(self, element: Element) -> None:
        beats = [_words(each.text) for each in element.findall("beats")]
        units = [_words(each.text) for each in element.findall("beat-type")]
        told = "+".join(map("/".join, zip(beats, units, strict=False)))
        self.meter, self.meter_words = meter_of(told)


class _BarReader:
    """One bar: a clock that notes move on, <backup> and <forward> too."""

    def __init__(self, part: _PartReader) -> None:
        self.part = part
        self.now = self.top = self.last = Fraction(0)
        self.notes: list[ScoreNote] = []
        self.repeats: list[str] = []
        self.endings: list[str] = []
        self.words: list[str] = []
        self.tempo: float | None = None
        self.begun: ScoreBar | None = None  # what was in force at its first note
        self.told: list[str] = []

    def read(self, element: Element) -> None:
        match element.tag:
            case "note":
                self.note(element)
            case "attributes":
                self.part.attributes(element)
            case "backup":
                self.now = max(self.now - self.duration(element), Fraction(0))
            case "forward":
                self.move(self.duration(element))
            case "barline":
                self.repeats += [each.get("direction", "") for each in element.iter("repeat")]
                self.endings += [
                    f"{short(each.get('number', ''), 8)} {short(each.get('type', ''), 12)}"
                    for each in element.iter("ending")
                ]
            case "sound":
                self.sound(element)
            case "direction":
                self.direction(element)

    def note(self, element: Element) -> None:
        is_grace, is_chord = (element.find(tag) is not None for tag in ("grace", "chord"))
        length = Fraction(0) if is_grace else self.duration(element)
        length = length and tuplet_length(element, length, self.part.divisions)
        at = self.last if is_chord else self.now
        self.begun = begun = self.begun or self.part.empty_bar
        if (self.part.signature, self.part.meter) != (begun.signature, begun.meter):
            self.tell(CHANGES)
        self.notes.append(read_note(element, at, length))
        if not is_chord:
            self.last = self.now
            self.move(length)

    def tell(self, what: str) -> None:
        if what not in self.told:
            self.told.append(what)

    def move(self, length: Fraction) -> None:
        self.now += length
        self.top = max(self.top, self.now)

    def duration(self, element: Element) -> Fraction:
        return quarters(element.findtext("duration"), self.part.divisions)

    def direction(self, element: Element) -> None:
        for each in element.iter():
            if each.tag in ("words", "rehearsal") and (text := _words(each.text)):
                self.words.append(text)
            elif each.tag in _SIGNS:
                self.words.append(each.tag)
            elif each.tag in ("dynamics", "wedge"):
                self.tell(DYNAMICS)
        for sound in element.iter("sound"):
            self.sound(sound)
        mark = element.find("direction-type/metronome")
        if mark is not None and self.tempo is None:
            unit = _BEAT_UNITS.get(_words(mark.findtext("beat-unit")), 1.0)
            unit *= 1.5 if mark.find("beat-unit-dot") is not None else 1.0
            figure = re.search(r"\d{1,4}(\.\d{1,4})?", mark.findtext("per-minute") or "")
            self.tempo = float(figure[0]) * unit if figure else None

    def sound(self, element: Element) -> None:
        tempo = element.get("tempo", "")
        if self.tempo is None and re.fullmatch(r"\d{1,4}(\.\d{1,9})?", tempo):
            self.tempo = float(tempo) or None
