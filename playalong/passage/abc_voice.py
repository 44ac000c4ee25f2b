"""The music of one voice of an ABC tune to bars (ABC standard 2.1, chapter 4)."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction

from playalong.music.pitch import LETTERS, Pitch
from playalong.passage.abc_bars import Room, cut_by_meter
from playalong.passage.abc_fields import SIGNS, Fields
from playalong.passage.abc_signs import (
    ARTICULATIONS,
    BOWS,
    FINGERS,
    LETTERS_OF_MARKS,
    NAMES,
    ORNAMENTS,
    SIGN,
    TIMES,
    finger_of,
    is_loudness,
    known,
    length_of,
    words_of,
)
from playalong.passage.model import (
    CHANGES,
    DYNAMICS,
    BarError,
    ScoreBar,
    ScoreNote,
)
from playalong.passage.note_reader import LONGEST_QUARTERS

UNKNOWN = "signs that ABC does not know"
LOST = {  # by fields
    "P": "in which order the parts of the tune are played (P:)",
    "U": "signs with a meaning of the tune's own (U:)",
    "m": "notes that a sign stands for (m:)",
    "s": "signs below the notes (s:)",
}
KEPT_MARKS = (*ORNAMENTS, *ARTICULATIONS, *BOWS, *FINGERS, "5", "thumb", "open")
FIRST_VOICE = 1


class Voice:
    """Reads signs, one after another, into bars."""

    def __init__(self, fields: Fields, room: Room) -> None:
        self.fields, self.room = fields, room
        self.bars: list[ScoreBar] = []
        self.has_bar_lines = False
        self.tied: dict[int, int] = {}  # alterations by index, of what is tied on
        self.ratio = Fraction(1)  # of the next note, in a broken rhythm
        self.tuplet: tuple[int, int, int] | None = None  # so many in the time of, how many left
        self.marks: list[str] = []  # before a note
        self.slurs = 0
        self.told: list[str] = []
        self.lasting: dict[str, str] = {}  # faults by field: of all bars until it is said anew
        self._open()

    def _open(self) -> None:
        """What a bar begins with."""
        self.notes: list[ScoreNote] = []
        self.now = self.length = Fraction(0)
        self.voice = FIRST_VOICE
        self.altered: dict[int, int] = {}  # by index: an accidental is of one octave, as in print
        self.last = range(0)  # the heads that came last
        self.chord: list[tuple[ScoreNote, Fraction]] | None = None  # its heads with their lengths
        self.in_grace = False
        self.repeats: list[str] = []
        self.endings: list[str] = []
        self.words: list[str] = []
        self.fault = ""
        self.begun: Fields | None = None  # what was in force when it began

    def tell(self, what: str) -> None:
        if what not in self.told:
            self.told.append(what)

    def field(self, letter: str, text: str) -> None:
        if letter in LOST:
            self.tell(LOST[letter])
        self.lasting.pop(letter, None)
        try:
            self.fields = self.fields.after(letter, text)
        except BarError as error:
            self.lasting[letter] = str(error)

    def settle(self) -> None:
        """The head is read: the plain note stays what it is when the meter changes (3.1.7)."""
        self.fields = replace(self.fields, unit=self.fields.plain)

    def read(self, music: str) -> None:
        place = 0
        while place < len(music):
            found = SIGN.match(music, place)
            if found is None:
                self.tell(UNKNOWN)
                place += 1
                continue
            place = found.end()
            try:
                self._sign(found.lastgroup or "", found)
            except BarError as error:
                self.fault = self.fault or str(error)

    def end(self) -> tuple[ScoreBar, ...]:
        self._close()
        if not self.has_bar_lines:
            return tuple(part for bar in self.bars for part in cut_by_meter(bar, self.room))
        return tuple(self.bars)

    def _sign(self, kind: str, part: re.Match[str]) -> None:
        match kind:
            case "note":
                self._note(part)
            case "bar":
                self._bar(part["line"] or "", part["passes"])
            case "rest":
                self._rest(self._timed(length_of(part["rest_length"])))
            case "rests":
                self._rests(int(part["rest_bars"] or 1))
            case "text":
                self._text(part["words"] or "")
            case "mark":
                name = part["name"] or part["old"] or ""
                self._mark(NAMES.get(name, name))
            case "letter_mark":
                self._mark(LETTERS_OF_MARKS.get(part["letter_mark"] or "", ""))
            case "field":
                self.field(part["letter"] or "", part["value"] or "")
            case "ending":
                self.endings.append(f"{part['which']} start")
            case "tuplet":
                self._tuplet(int(part["count"] or 0), part["time"], part["over"])
            case "slur":
                self.slurs += 1
            case "slur_end":
                for place in self.last[:1]:
                    note = self.notes[place]
                    self.notes[place] = replace(note, slur_stops=note.slur_stops + 1)
            case "grace" | "grace_end":
                self.in_grace = kind == "grace"
            case "chord":
                self.chord = []
            case "chord_end":
                self._chord(length_of(part["times"]))
            case "broken":
                self._broken(part["broken"] or "")
            case "tie":
                self._tie()
            case "overlay":
                self.now, self.voice, self.last = Fraction(0), self.voice + 1, range(0)

    def _text(self, text: str) -> None:
        if finger := finger_of(text):
            self.marks.append(finger)
        elif is_loudness(words := words_of(text)):
            self.tell(DYNAMICS)
        elif words:
            self.words.append(words)

    def _mark(self, name: str) -> None:
        if name in KEPT_MARKS:
            self.marks.append(name)
        elif name:
            self._text(name)
        else:
            self.tell(UNKNOWN)

    def _note(self, part: re.Match[str]) -> None:
        pitch, continues, microtone = self._pitch(part["alter"], part["pitch"], part["octave"])
        length = length_of(part["length"])
        is_whole = self.chord is None and not self.in_grace
        fingers = [mark for mark in self.marks if mark[0].isdigit() or mark == "thumb"]
        note = ScoreNote(
            self.now,
            self._timed(length) if is_whole else Fraction(0),
            pitch,
            voice=str(self.voice),
            is_chord=bool(self.chord),
            is_grace=self.in_grace,
            microtone=microtone,
            tie_from_last=continues and not self.in_grace,
            tuplet=self.tuplet[:2] if self.tuplet and not self.in_grace else None,
            fingers=tuple(int(mark) for mark in fingers if mark in FINGERS),
            other_fingers=tuple(mark for mark in fingers if mark not in FINGERS),
            is_open="open" in self.marks,
            bow=next(iter(known(self.marks, BOWS)), ""),
            slur_starts=self.slurs,
            ornaments=known(self.marks, ORNAMENTS),
            articulations=known(self.marks, ARTICULATIONS),
        )
        self.slurs, self.marks = 0, []
        self.room.take(notes=1)
        if self.chord is not None:
            self.chord.append((note, length))
        elif self.in_grace:
            self.notes.append(note)
        else:
            self._add([note])

    def _chord(self, times: Fraction) -> None:
        """As long as its first head (4.17)."""
        pairs, self.chord = self.chord or [], None
        heads = [note for note, _ in pairs]
        if self.in_grace:
            self.notes += heads
        elif pairs:
            length = self._timed(pairs[0][1] * times)
            self._add([replace(each, length=length) for each in heads])

    def _rest(self, length: Fraction) -> None:
        self.room.take(notes=1)
        self._add([ScoreNote(self.now, length, voice=str(self.voice))])

    def _timed(self, length: Fraction) -> Fraction:
        """So many plain lengths in quarters, as broken rhythm and tuplet make them."""
        quarters = length * self.fields.plain * self.ratio
        if self.tuplet:
            quarters = quarters * self.tuplet[1] / self.tuplet[0]
        if not 0 < quarters <= LONGEST_QUARTERS:
            raise BarError("a note has no length that can be played")
        return quarters

    def _add(self, heads: list[ScoreNote]) -> None:
        """What sounds together, or rests."""
        self.begun = begun = self.begun or self.fields
        if (begun.signature, begun.meter) != (self.fields.signature, self.fields.meter):
            self.tell(CHANGES)
        if self.tuplet:
            count, time, left = self.tuplet
            self.tuplet = (count, time, left - 1) if left > 1 else None
        self.last = range(len(self.notes), len(self.notes) + len(heads))
        self.notes += heads
        self.ratio = Fraction(1)
        self.tied = {
            each.pitch.index: each.pitch.alter for each in heads if each.pitch and each.tie_to_next
        }
        self._move(self.now + heads[0].length)

    def _move(self, now: Fraction) -> None:
        self.now, self.length = now, max(self.length, now)

    def _pitch(self, sign: str | None, name: str, marks: str) -> tuple[Pitch, bool, Fraction]:
        octave = 4 + name.islower() + marks.count("'") - marks.count(",") + self.fields.octaves
        letter = LETTERS.index(name.upper())
        if not 0 <= octave <= 9:
            raise BarError(f"a note lies in octave {octave}")
        index, microtone = 7 * octave + letter, Fraction(0)
        if sign and "/" in sign:  # a part of a half step
            microtone, sign = Fraction(1, 2), "=" if sign[0] == "^" else "_"
        if sign:
            self.altered[index] = SIGNS[sign]
        by_key = self.fields.alters[letter]
        alter = self.altered.get(index, self.tied.get(index, by_key))
        return Pitch(index, alter), self.tied.get(index) == alter, microtone

    def _tie(self) -> None:
        if self.chord:
            note, length = self.chord[-1]
            self.chord[-1] = (replace(note, tie_to_next=True), length)
            return
        for place in self.last:
            note = self.notes[place]
            if note.pitch:
                self.notes[place] = replace(note, tie_to_next=True)
                self.tied[note.pitch.index] = note.pitch.alter

    def _broken(self, sign: str) -> None:
        """`a>b`: what one note gains, its neighbour loses."""
        less = Fraction(1, 2 ** len(sign))
        longer, self.ratio = (2 - less, less) if sign[0] == ">" else (less, 2 - less)
        if not self.last:
            return
        heads = [self.notes[place] for place in self.last]
        moved = heads[0].length * (longer - 1)
        for place, note in enumerate(heads, self.last.start):
            self.notes[place] = replace(note, length=note.length + moved)
        for place in range(self.last.stop, len(self.notes)):  # grace notes before the sign
            self.notes[place] = replace(self.notes[place], at=self.now + moved)
        self.length = self.now + moved if self.length == self.now else self.length
        self._move(self.now + moved)

    def _tuplet(self, count: int, time: str | None, over: str | None) -> None:
        by_meter = 3 if self.fields.meter and self.fields.meter.is_compound else 2
        self.tuplet = (count, int(time or 0) or TIMES.get(count, by_meter), int(over or 0) or count)

    def _rests(self, count: int) -> None:
        length = self.fields.meter.bar if self.fields.meter else Fraction(4)
        for place in range(count):
            if place:
                self._close()
            self._rest(length)

    def _bar(self, line: str, passes: str | None) -> None:
        self.has_bar_lines = True
        if line.startswith(":"):
            self._repeat()
        self._close()
        if line.endswith(":"):
            self.repeats.append("forward")
        if passes:
            self.endings.append(f"{passes} start")

    def _repeat(self) -> None:
        """Back from here: from the end of this bar, or of the one before where none has begun."""
        if self.length or not self.bars:
            self.repeats.append("backward")
        else:
            last = self.bars[-1]
            self.bars[-1] = replace(last, repeats=(*last.repeats, "backward"))

    def _close(self) -> None:
        """The bar is whole; signs before the first note of a bar wait for it."""
        if not self.length and not self.fault:
            return
        self.room.take(bars=1)
        begun = self.begun or self.fields
        bar = ScoreBar(
            "",
            self.length,
            tuple(self.notes),
            begun.signature,
            begun.mode,
            begun.meter,
            begun.meter_words,
            transposition=begun.transposition,
            repeats=tuple(self.repeats),
            endings=tuple(self.endings),
            tempo=begun.tempo,
            words=tuple(self.words),
            told=tuple(self.told),
        )
        fault = self.fault or next(iter(self.lasting.values()), "")
        self.bars.append(bar.unreadable(fault) if fault else bar)
        self.told = []
        self._open()
