"""Written score -> MusicXML 4.0 (W3C Music Notation Community Group, 2021), one part in one file.

Voice 1 holds the drill, voice 2 the ghost notes as cue notes in parentheses. The passes of a
starting position are a repeat. Note ids are `n` and `g` with the number of the note that is meant.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from math import lcm
from xml.etree.ElementTree import Element, indent, tostring

from playalong.engraving.accidentals import Accidental, accidentals
from playalong.engraving.attributes import changed_attributes, opening_attributes
from playalong.engraving.beams import beams, grace_beams, stems
from playalong.engraving.markings import markings
from playalong.engraving.notations import (
    add,
    ghost_notations,
    note_notations,
    note_type,
    ties,
    time_modification,
)
from playalong.engraving.note_values import beat_value, one_value, tuplet_brackets
from playalong.engraving.words import SIMILE, position_words, score_title, shift_words
from playalong.engraving.written_score import Ghost, NoteOrRest, WrittenScore
from playalong.music.meter import Meter
from playalong.music.pitch import LETTERS, Pitch, pretty
from playalong.score.explanation import turns

DOCTYPE = (
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
    '"http://www.musicxml.org/dtds/partwise.dtd">'
)

ITALIC = {"font-style": "italic"}
MOST_DIVISIONS = 16_383  # of a quarter, that MusicXML advises at most (4.0, positive-divisions)
DIVISIONS = 13_440  # 128ths, triplets, quintuplets, septuplets


def musicxml(written: WrittenScore) -> bytes:
    """The whole file, UTF-8. The same score gives the same bytes."""
    root = score_partwise(written)
    after = [each.tag for each in root].index("part-list")
    root[after:after] = _credits(written)  # what is engraved has a heading of its own
    indent(root, " ")
    text = tostring(root, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{DOCTYPE}\n{text}\n'.encode()


def _credits(written: WrittenScore) -> Iterator[Element]:
    """What notation programs print over the music: the drill, its key and string, its author."""
    drill = written.score.drill
    for kind, side, words in (
        ("title", "center", drill.title),
        ("subtitle", "center", score_title(written.score)),
        ("composer", "right", drill.author),
    ):
        if words:
            credit = Element("credit", page="1")
            add(credit, "credit-type", kind)
            add(credit, "credit-words", words, justify=side, halign=side, valign="top")
            yield credit


def score_partwise(written: WrittenScore) -> Element:
    drill = written.score.drill
    root = Element("score-partwise", version="4.0")
    add(add(root, "work"), "work-title", drill.title)
    add(root, "movement-title", score_title(written.score))
    identification = add(root, "identification")
    if drill.author:
        add(identification, "creator", drill.author, type="composer")
    encoding = add(identification, "encoding")
    add(encoding, "software", "playalong")
    part = add(add(root, "part-list"), "score-part", id="P1")
    name = pretty(drill.instrument.full_name)
    add(part, "part-name", name)
    add(add(part, "score-instrument", id="P1-I1"), "instrument-name", name)
    midi = add(part, "midi-instrument", id="P1-I1")
    add(midi, "midi-channel", 1)
    add(midi, "midi-program", drill.instrument.program + 1)
    writer = _Writer(written)
    music = add(root, "part", id="P1")
    for index in range(len(written.bars)):
        writer.measure(music, index)
    return root


class _Writer:
    """Bars one after the other; what must be remembered between them."""

    def __init__(self, written: WrittenScore) -> None:
        self.written = written
        self.meter: Meter = written.score.drill.meter
        self.markings = markings(written)
        self.divisions = self._divisions()
        self.turns = {note.stand: note.arrival for note in turns(written.score) if note.is_landing}

    def _divisions(self) -> int:
        """Parts of a quarter that hold every start and length; so fine where these are too many
        for readers that times are rounded, each once."""
        times = [self.meter.bar, self.meter.beat]
        for bar in self.written.bars:
            times += [t for each in bar.notes_and_rests for t in (each.start, each.value.length)]
            times += [t for ghost in bar.ghosts for t in (ghost.start, ghost.length)]
        exact = lcm(*(time.denominator for time in times))
        return exact if exact <= MOST_DIVISIONS else DIVISIONS

    def duration(self, start: Fraction, length: Fraction) -> int:
        """Of what begins `start` quarters into its bar."""
        return round((start + length) * self.divisions) - round(start * self.divisions)

    def measure(self, part: Element, index: int) -> None:
        bar = self.written.bars[index]
        number = str(bar.number) if bar.number is not None else f"X{index + 1}" if index else "0"
        measure = add(part, "measure", number=number)
        if bar.number is None:
            measure.set("implicit", "yes")
        repeated = self.written.score.drill.passes > 1
        if bar.first and repeated:
            self.barline(measure, "left", "heavy-light", "forward")
        if not index:
            opening_attributes(measure, self.written, self.divisions)
            self.tempo(measure)
        else:
            changed_attributes(measure, self.written, index)
        self.music(measure, index)
        if bar.last and (turn := self.turns.get(bar.stand)):
            _words(measure, f"back: {', '.join(shift_words(turn))}", "below", **ITALIC)
        if bar.last and repeated:
            self.barline(measure, "right", "light-heavy", "backward")
        elif index == len(self.written.bars) - 1:
            self.barline(measure, "right", "light-heavy")
        elif bar.last or bar.ends_part:
            self.barline(measure, "right", "light-light")

    def barline(self, measure: Element, side: str, style: str, repeat: str = "") -> None:
        line = add(measure, "barline", location=side)
        add(line, "bar-style", style)
        if repeat:
            element = add(line, "repeat", direction=repeat)
            if repeat == "backward":
                element.set("times", str(self.written.score.drill.passes))

    def tempo(self, measure: Element) -> None:
        bpm, beat = self.written.score.drill.tempo.start, beat_value(self.meter)
        direction = add(measure, "direction", placement="above")
        mark = add(add(direction, "direction-type"), "metronome")
        add(mark, "beat-unit", beat.type)
        if beat.dots:
            add(mark, "beat-unit-dot")
        add(mark, "per-minute", bpm)
        add(direction, "sound", tempo=_number(bpm * beat.length))

    def music(self, measure: Element, index: int) -> None:
        bar = self.written.bars[index]
        if bar.is_silent:
            rest = add(measure, "note")
            add(rest, "rest", measure="yes")
            add(rest, "duration", self.duration(Fraction(0), bar.meter.bar))
            add(rest, "voice", 1)
            return
        voice = bar.notes_and_rests
        beamed, ways, brackets = self.groups(index)
        before = self.written.bars[index - 1] if index else None
        altered = accidentals(bar.key, bar, self.written.instrument, before)
        for each, beam, way, tuplet in zip(voice, beamed, ways, brackets, strict=True):
            self.words(measure, each)
            self.octave_sign(measure, each, "down")
            element = add(measure, "note")
            if each.is_grace:
                add(element, "grace", slash="yes")
            if each.note is None:
                add(element, "rest")
            else:
                element.set("id", each.id)
                self.pitch(element, each.note.pitch)
            if not each.is_grace:
                add(element, "duration", self.duration(each.start, each.value.length))
            ties(element, "tie", each)
            add(element, "voice", 1)
            note_type(element, each.value)
            if each.note:
                self.accidental(element, altered.get(each.id))
            time_modification(element, each.value)
            if each.note:
                add(element, "stem", way)
            for level, word in enumerate(beam, 1):
                add(element, "beam", word, number=level)
            own = self.markings[each.number] if each.note else None
            note_notations(element, each, own, tuplet, self.written.instrument)
            for ghost in bar.ghosts:
                ends = ghost.start + ghost.length == each.start + each.value.length
                if ends and not each.is_grace:
                    self.ghost(measure, ghost, altered)
            self.octave_sign(measure, each, "stop")

    def groups(self, index: int) -> tuple[list[list[str]], list[str], list[list[str]]]:
        """Beams, stems and tuplet brackets of every note and rest of a bar.

        Grace notes have beams of their own, and stems that point up.
        """
        bar = self.written.bars[index]
        voice = bar.notes_and_rests
        timed = [each for each in voice if not each.is_grace]
        beamed = beams(timed, bar.meter)
        ways = stems([self.written.above_middle(index, each) for each in timed], beamed)
        brackets = tuplet_brackets([each.value for each in timed])
        rows = zip(beamed, ways, brackets, strict=True)
        graces = iter(grace_beams(voice))
        found = [(next(graces), "up", []) if each.is_grace else next(rows) for each in voice]
        return [row[0] for row in found], [row[1] for row in found], [row[2] for row in found]

    def words(self, measure: Element, each: NoteOrRest) -> None:
        """The position over the note at which the hand takes it, and where the bowing is clear;
        under it the shift that lands on it, with its way."""
        if each.note is None or each.piece:
            return
        if each.note.arrival and each.note.is_landing:
            _words(measure, ", ".join(shift_words(each.note.arrival)), "below", **ITALIC)
        position = self.written.new_positions.get(each.number)
        if position is not None:
            _words(measure, position_words(*position), "above")
        if self.markings[each.number].simile:
            _words(measure, SIMILE, "above", **ITALIC)

    def octave_sign(self, measure: Element, each: NoteOrRest, kind: str) -> None:
        """Before the first note that it stands over, and after the last."""
        ends = [signs[kind == "stop"] for signs in self.written.octave_signs]
        here = not each.tied_on if kind == "stop" else not each.piece
        if each.note and each.number in ends and here:
            direction = add(measure, "direction", placement="above")
            add(add(direction, "direction-type"), "octave-shift", type=kind, size=8)

    def accidental(self, element: Element, sign: Accidental | None) -> None:
        if sign:
            look = {"cautionary": "yes", "parentheses": "yes"} if sign.is_courtesy else {}
            add(element, "accidental", sign.name, **look)

    def ghost(self, measure: Element, ghost: Ghost, altered: dict[str, Accidental]) -> None:
        """A ghost note in voice 2, written where its turn comes in time: after what it leaves."""
        add(add(measure, "backup"), "duration", self.duration(ghost.start, ghost.length))
        element = add(measure, "note", id=ghost.id)
        add(element, "cue")
        self.pitch(element, ghost.pitch)
        add(element, "duration", self.duration(ghost.start, ghost.length))
        add(element, "voice", 2)
        value = one_value(ghost.length)  # without one a reader goes by the duration
        if value:
            note_type(element, value)
        self.accidental(element, altered.get(ghost.id))
        if value:
            time_modification(element, value)
        add(element, "stem", "none")
        add(element, "notehead", "normal", filled="no", parentheses="yes")
        ghost_notations(element, ghost, self.written.instrument)

    def pitch(self, element: Element, sounding: Pitch) -> None:
        written = self.written
        shown = sounding if written.octave_clef else written.instrument.as_written(sounding)
        pitch = add(element, "pitch")
        add(pitch, "step", LETTERS[shown.letter])
        if shown.alter:
            add(pitch, "alter", shown.alter)
        add(pitch, "octave", shown.octave)


def _words(measure: Element, text: str, placement: str, **look: str) -> None:
    direction = add(measure, "direction", placement=placement)
    add(add(direction, "direction-type"), "words", text, **look)


def _number(value: Fraction) -> str:
    return str(value) if value.denominator == 1 else f"{float(value):g}"
