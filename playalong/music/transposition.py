"""Transposing instruments: from what a player reads to what sounds, and back."""

from __future__ import annotations

from dataclasses import dataclass, replace

from playalong.music.interval import interval_name
from playalong.music.key import MODES, MOST_SIGNS, Key
from playalong.music.pitch import Pitch

C5 = Pitch.of("C5")


@dataclass(frozen=True)
class Transposition:
    """How far what sounds lies from what is read, in letters and half steps; down is negative."""

    letters: int = 0
    semitones: int = 0

    @classmethod
    def of(cls, sounding: str) -> Transposition:
        """That of an instrument whose written C5 sounds `sounding`: `of("Bb4")` of a clarinet."""
        pitch = Pitch.of(sounding)
        return cls(pitch.index - C5.index, pitch.key_number - C5.key_number)

    @property
    def octaves(self) -> int:
        """Of an instrument that sounds in other octaves and is read by the same letters; else 0."""
        return self.letters // 7 if self.semitones * 7 == self.letters * 12 else 0

    @property
    def changes_letters(self) -> bool:
        return bool(self.letters or self.semitones) and not self.octaves

    @property
    def words(self) -> str:
        """`a major second lower`; empty where it sounds as written."""
        if not self.letters and not self.semitones:
            return ""
        interval = interval_name(C5, self.sounding(C5))
        article = "an" if interval[0] in "aeio" else "a"
        return f"{article} {interval} {'higher' if self.semitones > 0 else 'lower'}"

    def sounding(self, written: Pitch) -> Pitch:
        return written.moved(self.letters, self.semitones) if self != AS_WRITTEN else written

    def written(self, sounding: Pitch) -> Pitch:
        return sounding.moved(-self.letters, -self.semitones) if self != AS_WRITTEN else sounding

    def sounding_key(self, key: Key) -> Key:
        """The key that sounds where `key` is read; spelled as `within` says."""
        tonic = self.within(key).sounding(Pitch(C5.index + key.letter, key.alter))
        return replace(key, letter=tonic.letter, alter=tonic.alter)

    def within(self, key: Key) -> Transposition:
        """The same sound, spelled so that a key which is read sounds in a key that can be written.

        G flat major on a clarinet in B flat is told as sounding in E major, not in F flat.
        """
        tonic = self.sounding(Pitch(C5.index + key.letter, key.alter))
        signs = tonic.fifths + MODES[key.mode]
        if abs(signs) <= MOST_SIGNS:
            return self
        return replace(self, letters=self.letters + (1 if signs > 0 else -1))


AS_WRITTEN = Transposition()
