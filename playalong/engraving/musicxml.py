"""Paper -> MusicXML 4.0 (W3C Music Notation Community Group, 2021), one part in one file.

Voice 1 holds the drill, voice 2 the ghost notes as cue notes in parentheses. The passes of a
place are a repeat. Note ids are `n` and `g` with the number of the note that is meant.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import lcm
from xml.etree.ElementTree import Element, indent, tostring

from playalong.engraving.lengths import beams, one_sign
from playalong.engraving.notations import (
    add,
    ghost_notations,
    note_notations,
    sign_ratio,
    sign_type,
    ties,
)
from playalong.engraving.note_marks import NoteMarks, note_marks
from playalong.engraving.signs import accidentals, stems, tuplet_brackets
from playalong.engraving.words import position_words, sheet_title
from playalong.engraving.written import CLEFS, Bar, Ghost, Paper
from playalong.music.meter import NOTE_LENGTHS, Meter
from playalong.music.pitch import LETTERS, Pitch

DOCTYPE = (
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
    '"http://www.musicxml.org/dtds/partwise.dtd">'
)
BEAT_UNITS = {length: name for name, length in NOTE_LENGTHS.items()}
BEAT_UNITS[Fraction(1, 4)] = "16th"


def musicxml(paper: Paper) -> bytes:
    """The whole file, UTF-8. The same paper gives the same bytes."""
    root = score_partwise(paper)
    indent(root, " ")
    text = tostring(root, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{DOCTYPE}\n{text}\n'.encode()


def score_partwise(paper: Paper) -> Element:
    drill = paper.score.drill
    root = Element("score-partwise", version="4.0")
    add(add(root, "work"), "work-title", drill.title)
    add(root, "movement-title", sheet_title(paper.score))
    encoding = add(add(root, "identification"), "encoding")
    add(encoding, "software", "playalong")
    part = add(add(root, "part-list"), "score-part", id="P1")
    add(part, "part-name", drill.instrument.name)
    add(add(part, "score-instrument", id="P1-I1"), "instrument-name", drill.instrument.name)
    midi = add(part, "midi-instrument", id="P1-I1")
    add(midi, "midi-channel", 1)
    add(midi, "midi-program", drill.instrument.program + 1)
    writer = _Writer(paper)
    music = add(root, "part", id="P1")
    for index in range(len(paper.bars)):
        writer.measure(music, index)
    return root


class _Writer:
    """Bars one after the other; what must be remembered between them."""

    def __init__(self, paper: Paper) -> None:
        self.paper = paper
        self.meter: Meter = paper.score.drill.meter
        self.marks: Sequence[NoteMarks] = note_marks(paper)
        self.divisions = self._divisions()
        self.position: int | None = None

    def _divisions(self) -> int:
        """Parts of a quarter that hold every start and length."""
        times = [self.meter.bar, self.meter.beat]
        for bar in self.paper.bars:
            times += [time for sign in bar.signs for time in (sign.start, sign.sign.length)]
            times += [time for ghost in bar.ghosts for time in (ghost.start, ghost.length)]
        return lcm(*(time.denominator for time in times))

    def ticks(self, quarters: Fraction) -> int:
        return int(quarters * self.divisions)

    def measure(self, part: Element, index: int) -> None:
        bar = self.paper.bars[index]
        number = str(bar.number) if bar.number is not None else f"X{index + 1}"
        measure = add(part, "measure", number=number)
        if bar.number is None:
            measure.set("implicit", "yes")
        repeated = self.paper.score.drill.passes > 1
        if bar.first and repeated:
            self.barline(measure, "left", "heavy-light", "forward")
        if not index:
            self.attributes(measure)
            self.tempo(measure)
        self.music(measure, bar)
        if bar.last and repeated:
            self.barline(measure, "right", "light-heavy", "backward")
        elif index == len(self.paper.bars) - 1:
            self.barline(measure, "right", "light-heavy")
        elif bar.last:
            self.barline(measure, "right", "light-light")

    def barline(self, measure: Element, side: str, style: str, repeat: str = "") -> None:
        line = add(measure, "barline", location=side)
        add(line, "bar-style", style)
        if repeat:
            element = add(line, "repeat", direction=repeat)
            if repeat == "backward":
                element.set("times", str(self.paper.score.drill.passes))

    def attributes(self, measure: Element) -> None:
        paper, key = self.paper, self.paper.score.key
        element = add(measure, "attributes")
        add(element, "divisions", self.divisions)
        signature = add(element, "key")
        add(signature, "fifths", key.signature)
        add(signature, "mode", "minor" if key.is_minor else "major")
        time = add(element, "time")
        add(time, "beats", self.meter.count)
        add(time, "beat-type", self.meter.unit)
        clef = add(element, "clef")
        sign, line, _ = CLEFS[paper.clef]
        add(clef, "sign", sign)
        add(clef, "line", line)
        if paper.octave_clef:
            add(clef, "clef-octave-change", paper.instrument.octaves)
        elif paper.instrument.octaves:
            transpose = add(element, "transpose")
            add(transpose, "diatonic", 0)
            add(transpose, "chromatic", 0)
            add(transpose, "octave-change", paper.instrument.octaves)

    def tempo(self, measure: Element) -> None:
        bpm, beat = self.paper.score.drill.tempo.start, self.meter.beat
        direction = add(measure, "direction", placement="above")
        mark = add(add(direction, "direction-type"), "metronome")
        dotted = self.meter.is_compound
        add(mark, "beat-unit", BEAT_UNITS[beat * 2 / 3 if dotted else beat])
        if dotted:
            add(mark, "beat-unit-dot")
        add(mark, "per-minute", bpm)
        add(direction, "sound", tempo=_number(bpm * beat))

    def music(self, measure: Element, bar: Bar) -> None:
        if bar.is_silent:
            rest = add(measure, "note")
            add(rest, "rest", measure="yes")
            add(rest, "duration", self.ticks(self.meter.bar))
            add(rest, "voice", 1)
            return
        events = [(each.start, each.sign, each.note is None) for each in bar.signs]
        beamed = beams(events, self.meter)
        ways = stems(self.paper, bar, beamed)
        brackets = tuplet_brackets([each.sign for each in bar.signs])
        altered = accidentals(self.paper.score.key, bar)
        for place, written in enumerate(bar.signs):
            note = written.note
            if note and not written.piece and note.position not in (None, self.position):
                self.position = note.position
                direction = add(measure, "direction", placement="above")
                words = position_words(note.position)
                add(add(direction, "direction-type"), "words", words)
            element = add(measure, "note")
            if note is None:
                add(element, "rest")
            else:
                element.set("id", written.id)
                self.pitch(element, note.pitch)
            add(element, "duration", self.ticks(written.sign.length))
            ties(element, "tie", written)
            add(element, "voice", 1)
            sign_type(element, written.sign)
            if written.id in altered and note:
                add(element, "accidental", altered[written.id])
            sign_ratio(element, written.sign)
            if note:
                add(element, "stem", ways[place])
            for level, word in enumerate(beamed[place], 1):
                add(element, "beam", word, number=level)
            note_notations(element, written, self.marks, brackets[place], self.paper.instrument)
            for ghost in bar.ghosts:
                if ghost.start + ghost.length == written.start + written.sign.length:
                    self.ghost(measure, ghost, altered)

    def ghost(self, measure: Element, ghost: Ghost, altered: dict[str, str]) -> None:
        """A ghost note in voice 2, written where its turn comes in time: after what it leaves."""
        add(add(measure, "backup"), "duration", self.ticks(ghost.length))
        element = add(measure, "note", id=ghost.id)
        add(element, "cue")
        self.pitch(element, ghost.pitch)
        add(element, "duration", self.ticks(ghost.length))
        add(element, "voice", 2)
        sign = one_sign(ghost.length)  # without one a reader goes by the duration
        if sign:
            sign_type(element, sign)
        if ghost.id in altered:
            add(element, "accidental", altered[ghost.id])
        if sign:
            sign_ratio(element, sign)
        add(element, "stem", "none")
        add(element, "notehead", "normal", filled="no", parentheses="yes")
        ghost_notations(element, ghost, self.paper.instrument)

    def pitch(self, element: Element, sounding: Pitch) -> None:
        shown = sounding if self.paper.octave_clef else self.paper.as_written(sounding)
        pitch = add(element, "pitch")
        add(pitch, "step", LETTERS[shown.letter])
        if shown.alter:
            add(pitch, "alter", shown.alter)
        add(pitch, "octave", shown.octave)


def _number(value: Fraction) -> str:
    return str(value) if value.denominator == 1 else f"{float(value):g}"
