"""A line of LilyPond as bars of a score: notes, slurs and fingers, enough for one string part.

What it does not read (variables, several voices) it passes over; a bar check that fails tells that
something was lost. Notation: LilyPond's manual, "Musical notation".
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Any

from playalong.music.meter import Meter
from playalong.music.pitch import LETTERS, Pitch
from playalong.passage.model import ScoreBar, ScoreNote

ALTERS = {"": 0, "is": 1, "es": -1, "s": -1, "isis": 2, "eses": -2}
MIDDLE = 28  # the letter C4, counted from C0
FIFTHS = "fcgdaeb"
_SIGNS = re.compile(
    r"""
      \\(?:tuplet|times)\s+(?P<num>\d+)/(?P<den>\d+)(?:\s+\d+)?\s*(?P<opens>\{)
    | \\key\s*(?P<tonic>[a-g])(?P<sign>is|es|s)?\s*\\(?P<mode>major|minor)
    | \\time\s+(?P<beats>\d+)/(?P<unit>\d+)
    | \\relative\s*(?P<from>[a-g][',]*)?
    | \\partial\s+(?P<upbeat>\d+)(?P<ud>\.*)(?:\*(?P<ut>\d+))?
    | \\(?P<grace>grace|acciaccatura|appoggiatura)
    | \\(?P<word>[A-Za-z]+)
    | \\[^A-Za-z] | [-^_][->.]
    | [-^_](?P<finger>[0-5])
    | (?P<chord><)(?!<) | (?P<end>>)(?P<cl>\d*)(?P<cd>\.*) | (?P<slur>[()]) | (?P<tie>~)
    | (?P<brace>[{}]) | (?P<check>\|)
    | (?<![A-Za-z_.'])(?P<letter>[a-grR])(?P<alter>isis|eses|is|es|s)?(?P<octave>[',]*)[!?]?
      (?![A-Za-z=])(?P<length>\d*)(?P<dots>\.*)(?:\*(?P<times>\d+))?
    | [A-Za-z][\w.]* | .
    """,
    re.VERBOSE | re.DOTALL,
)


def plain(text: str) -> str:
    """Without comments, words, markups and Scheme."""
    text = re.sub(r"%\{.*?%\}|%[^\n]*", " ", text, flags=re.DOTALL)
    text = re.sub(r'"[^"]*"', " ", text)
    text = re.sub(r"(\\markup\s*)(?=[^{\s])\S+", " ", text)
    while (at := text.find("\\markup")) >= 0:
        text = text[:at] + text[_closing(text, at) + 1 :]
    return re.sub(r"#+'?\S+|\\(?:set|override)\s+[\w.]+\s*=?", " ", text)


@dataclass
class _Line:
    """What is in force, and the notes so far, in quarters from the beginning."""

    relative: bool = False
    last: Pitch = field(default_factory=lambda: Pitch(MIDDLE))
    length: Fraction = Fraction(1)
    scales: list[Fraction] = field(default_factory=lambda: [Fraction(1)])
    now: Fraction = Fraction(0)
    is_grace: bool = False
    chord: list[Pitch] | None = None
    chord_fingers: list[tuple[int, ...]] = field(default_factory=list)
    notes: list[ScoreNote] = field(default_factory=list)
    heads: int = 0  # of the note that signs belong to
    keys: list[tuple[Fraction, int, str]] = field(default_factory=list)  # from when on
    meter: Meter = Meter(4, 4)
    upbeat: Fraction = Fraction(0)
    sections: list[tuple[ScoreBar, ...]] = field(default_factory=list)  # that have ended

    def read(self, found: re.Match[str]) -> None:
        sign = found.groupdict()
        if sign["opens"]:
            scale = Fraction(int(sign["num"]), int(sign["den"]))
            self.scales.append(self.scales[-1] * (scale if scale < 1 else 1 / scale))
        elif sign["brace"]:
            self.brace(sign["brace"])
        elif sign["tonic"]:
            fifths = FIFTHS.index(sign["tonic"]) - 1 + 7 * ALTERS[sign["sign"] or ""]
            signature = fifths - 3 * (sign["mode"] == "minor")
            self.keys.append((self.now, signature, sign["mode"] or ""))
        elif sign["beats"]:
            if self.notes:
                self.section()
            self.meter = Meter(int(sign["beats"]), int(sign["unit"]))
        elif found[0].startswith("\\relative"):
            start = sign["from"] or "c"
            self.relative = True
            marks = start.count("'") - start.count(",") - 1
            self.last = Pitch(MIDDLE + "cdefgab".index(start[0]) + 7 * marks)
        elif sign["upbeat"]:
            length = _quarters(sign["upbeat"], len(sign["ud"] or ""))
            self.upbeat = length * int(sign["ut"] or 1)
        elif sign["grace"]:
            self.is_grace = True
        elif sign["finger"]:
            self.finger(int(sign["finger"]))
        elif sign["chord"]:
            self.chord, self.chord_fingers = [], []
        elif sign["end"] and self.chord:
            self.lasting(sign["cl"], sign["cd"])
            pitches, self.chord = self.chord, None
            self.last = pitches[0]
            self.add(pitches, self.chord_fingers)
        elif sign["slur"]:
            self.slur(sign["slur"])
        elif sign["tie"]:
            self.change(tie_to_next=True)
        elif sign["check"]:
            if (self.now - self.upbeat) % self.meter.bar:
                raise ValueError(f"a bar check fails after {self.now} quarters")
        elif sign["letter"]:
            self.note(sign)

    def section(self) -> None:
        """Ends one, before another meter."""
        self.sections.append(tuple(_bars(self)))
        self.keys = [(Fraction(0), *self.keys[-1][1:])] if self.keys else []
        self.notes, self.heads, self.now, self.upbeat = [], 0, Fraction(0), Fraction(0)

    def brace(self, brace: str) -> None:
        if brace == "{":
            self.scales.append(self.scales[-1])
        elif len(self.scales) > 1:
            self.scales.pop()

    def lasting(self, length: str, dots: str, times: str | None = None) -> None:
        if length:
            self.length = _quarters(length, len(dots)) * int(times or 1)

    def note(self, sign: dict[str, str | None]) -> None:
        letter = sign["letter"] or ""
        if self.chord is None:
            self.lasting(sign["length"] or "", sign["dots"] or "", sign["times"])
        if letter in "rR":
            self.now += self.length * self.scales[-1]
            self.heads = 0
            return
        self.last = pitch = self.pitch(letter, sign["alter"] or "", sign["octave"] or "")
        if self.chord is None:
            self.add([pitch], [()])
        else:
            self.chord.append(pitch)
            self.chord_fingers.append(())

    def pitch(self, letter: str, alter: str, marks: str) -> Pitch:
        step, octaves = LETTERS.index(letter.upper()), marks.count("'") - marks.count(",")
        if not self.relative:
            return Pitch(MIDDLE - 7 + step + 7 * octaves, ALTERS[alter])
        up = (step - self.last.index) % 7
        return Pitch(self.last.index + up - 7 * (up > 3) + 7 * octaves, ALTERS[alter])

    def add(self, pitches: list[Pitch], fingers: list[tuple[int, ...]]) -> None:
        """A note or chord, from now on."""
        length = Fraction(0) if self.is_grace else self.length * self.scales[-1]
        for number, (pitch, finger) in enumerate(zip(pitches, fingers, strict=True)):
            head = ScoreNote(
                self.now,
                length,
                pitch,
                is_chord=number > 0,
                is_grace=self.is_grace,
                fingers=finger,
            )
            self.notes.append(head)
        self.heads, self.now, self.is_grace = len(pitches), self.now + length, False

    def finger(self, finger: int) -> None:
        if self.chord is not None:
            if self.chord_fingers:
                self.chord_fingers[-1] += (finger,)
        elif self.heads == 1:
            self.change(fingers=(*self.notes[-1].fingers, finger))

    def slur(self, slur: str) -> None:
        starts = slur == "("
        self.change(slur_starts=int(starts), slur_stops=int(not starts))

    def change(self, **more: Any) -> None:
        """Sets signs of the last note, on its first head."""
        if self.heads:
            place = len(self.notes) - self.heads
            old = self.notes[place]
            for name in ("slur_starts", "slur_stops"):
                more[name] = getattr(old, name) + more.get(name, 0)
            self.notes[place] = replace(old, **more)


def _quarters(length: str, dots: int) -> Fraction:
    return Fraction(4, int(length)) * (2 - Fraction(1, 2**dots))


def _closing(text: str, at: int) -> int:
    """Where the group that begins next is closed."""
    depth = 0
    for brace in re.finditer(r"[{}]", text[at:]):
        depth += 1 if brace[0] == "{" else -1
        if not depth:
            return at + brace.start()
    raise ValueError("a brace is not closed")


def bars_of(text: str, name: str, section: int = 0) -> tuple[ScoreBar, ...]:
    """The bars of the music that a file calls `name`; where its meter changes, of one section."""
    music = text[text.index(f"{name} =") :]
    line = _Line()
    for found in _SIGNS.finditer(plain(music[music.index("=") + 1 : _closing(music, 0) + 1])):
        line.read(found)
    line.section()
    return line.sections[section]


def _bars(line: _Line) -> Iterator[ScoreBar]:
    """A bar in which the key changes has that of its beginning."""
    length, place = line.meter.bar, 0
    first = (line.upbeat - length) % length
    _, signature, mode = (line.keys or [(0, 0, "major")])[0]
    while place * length - first < line.now:
        start = place * length - first
        for since, *key in line.keys:
            signature, mode = key if since <= start else (signature, mode)
        notes = [
            replace(note, at=note.at - start)
            for note in line.notes
            if start <= note.at < start + length
        ]
        yield ScoreBar(
            str(place + 1),
            length,
            tuple(notes),
            signature=signature,
            mode=mode,
            meter=line.meter,
        )
        place += 1
