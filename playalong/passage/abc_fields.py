"""What ABC's fields say (ABC standard 2.1, chapters 3 and 4.6): key, meter, length, tempo, clef."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from fractions import Fraction

from playalong.errors import short
from playalong.music.key import MODES, MOST_SIGNS
from playalong.music.meter import Meter
from playalong.music.pitch import LETTER_FIFTHS, LETTERS
from playalong.music.transposition import AS_WRITTEN, Transposition
from playalong.passage.meters import meter_of
from playalong.passage.model import BarError

SIGNS = {"^^": 2, "^": 1, "=": 0, "_": -1, "__": -2}
SHORT_QUARTERS = 3  # a bar below it has sixteenths as plain notes, another eighths (3.1.7)
PIPES = {"HP": 0, "Hp": 2}  # the Highland bagpipes, without their two sharps and with them
_KEY = re.compile(r"([A-G])([#b]?)\s*([A-Za-z]*)")
_OF_KEY = re.compile(r"(?<![A-Za-z])(\^\^|\^|=|__|_)([A-Ga-g])(?![A-Za-z])")
_TEMPO = re.compile(r"(?:(\d{1,3})/(\d{1,3})\s*=\s*)?([1-9]\d{0,3})\s*$")
_SEMITONES = re.compile(r"\btranspose=(-?\d{1,2})\b")
_OCTAVE = re.compile(r"\boctave=(-?\d)\b")
_OCTAVE_CLEF = re.compile(r"([-+])8(?:va)?(?!\S)")


@dataclass(frozen=True)
class Fields:
    """What is in force in a voice."""

    signature: int | None = 0
    mode: str = ""
    alters: tuple[int, ...] = (0,) * len(LETTERS)  # what the key does to each letter
    meter: Meter | None = field(default_factory=lambda: Meter(4, 4))
    meter_words: str = ""
    unit: Fraction | None = None  # quarters of a plain note, where it is said
    tempo: float | None = None  # quarters a minute
    octaves: int = 0  # that pitches are written too low by
    transposition: Transposition = AS_WRITTEN

    def after(self, letter: str, text: str) -> Fields:
        """As a field changes it; letters that say nothing of the notes change nothing."""
        text = text.strip()
        match letter:
            case "K":
                return self._in_key(text)._placed(text)
            case "V":
                return self._placed(text)
            case "M":
                meter, words = meter_of({"C": "4/4", "C|": "2/2"}.get(text, text))
                return replace(self, meter=meter, meter_words=words)
            case "L":
                return replace(self, unit=_unit(text))
            case "Q":
                found = _TEMPO.search(re.sub(r'"[^"]*"', "", text).strip())
                if found and int(found[2] or 4):
                    beat = Fraction(4 * int(found[1] or 1), int(found[2] or 4))
                    return replace(self, tempo=float(int(found[3]) * beat) or None)
        return self

    @property
    def plain(self) -> Fraction:
        """Quarters of a note without a length of its own."""
        if self.unit is not None:
            return self.unit
        is_short = self.meter is not None and self.meter.bar < SHORT_QUARTERS
        return Fraction(1, 4) if is_short else Fraction(1, 2)

    def _in_key(self, text: str) -> Fields:
        found = _KEY.match(text)
        if text[:2] in PIPES:
            signs, mode = PIPES[text[:2]], ""
        elif found:
            mode = _mode(found[3])
            accidental = {"#": 7, "b": -7, "": 0}[found[2]]
            signs = LETTER_FIFTHS[LETTERS.index(found[1])] + accidental + MODES[mode]
        elif not text or text.lower().startswith("none"):
            signs, mode = 0, ""
        else:
            return self  # a clef or the like alone
        own = {name.upper(): SIGNS[sign] for sign, name in _OF_KEY.findall(text)}
        alters = tuple(
            own.get(name, (signs - fifth + 5) // 7)
            for name, fifth in zip(LETTERS, LETTER_FIFTHS, strict=True)
        )
        return replace(
            self,
            signature=None if own or abs(signs) > MOST_SIGNS else signs,
            mode=mode,
            alters=alters,
        )

    def _placed(self, text: str) -> Fields:
        """Where the notes of a clef or voice lie, and how they sound."""
        octave, clef, by = _OCTAVE.search(text), _OCTAVE_CLEF.search(text), _SEMITONES.search(text)
        octaves = int(octave[1]) if octave else self.octaves
        if not clef and not by:
            return replace(self, octaves=octaves)
        semitones = (int(by[1]) if by else 0) + (int(f"{clef[1]}12") if clef else 0)
        letters = round(Fraction(7 * semitones, 12))
        return replace(self, octaves=octaves, transposition=Transposition(letters, semitones))


def _mode(word: str) -> str:
    """`min`, `m`, `Dorian`: three letters tell a mode; another word is no mode, and major."""
    told = word.lower()
    if told == "m":
        return "minor"
    return next((name for name in MODES if len(told) > 2 and name.startswith(told[:3])), "major")


def _unit(text: str) -> Fraction:
    found = re.fullmatch(r"([1-9]\d{0,3})(?:\s*/\s*([1-9]\d{0,3}))?", text)
    if found is None:
        raise BarError(f'"L:{short(text, 20)}" is no length of a note')
    return 4 * Fraction(int(found[1]), int(found[2] or 1))
