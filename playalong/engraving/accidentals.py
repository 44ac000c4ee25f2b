"""Accidentals, stems and tuplet brackets of a bar, by the rules of common practice."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from playalong.engraving.lengths import Sign
from playalong.engraving.written import CLEFS, Bar, Paper
from playalong.music.key import Key

ACCIDENTALS = {
    -3: "triple-flat",
    -2: "flat-flat",
    -1: "flat",
    0: "natural",
    1: "sharp",
    2: "double-sharp",
    3: "triple-sharp",
}


def accidentals(key: Key, bar: Bar) -> dict[str, str]:
    """MusicXML's name for the accidental of every head that needs one, by the head's id.

    One holds to the end of its bar on its own line or space; ghost notes take their turn.
    """
    heads = [(each.start, each.id, each.note.pitch, each.piece) for each in bar.signs if each.note]
    heads += [(ghost.start, ghost.id, ghost.pitch, 0) for ghost in bar.ghosts]
    in_force: dict[int, int] = {}
    found: dict[str, str] = {}
    for _, name, pitch, piece in sorted(heads, key=lambda head: head[0]):
        by_key = signature_alteration(key, pitch.letter)
        if not piece and pitch.alter != in_force.get(pitch.index, by_key):
            found[name] = ACCIDENTALS[pitch.alter]
        in_force[pitch.index] = pitch.alter
    return found


def signature_alteration(key: Key, letter: int) -> int:
    """What the key signature alone does to a letter; a raised seventh is not in it."""
    mode = "minor" if key.is_minor else "major"
    return Key(key.letter, key.alter, mode).alteration(letter)


def stems(paper: Paper, bar: Bar, beamed: Sequence[Sequence[str]]) -> list[str]:
    """Up or down by the head farthest from the middle line, one way for all of a beam."""
    middle = CLEFS[paper.clef][2]
    ways: list[str] = []
    group: list[int] = []
    for each, beam in zip(bar.signs, beamed, strict=True):
        group.append(paper.as_written(each.note.pitch).index - middle if each.note else 0)
        if beam and beam[0] != "end":
            continue
        ways += ["up" if max(group, key=abs) < 0 else "down"] * len(group)
        group = []
    return ways


def tuplet_brackets(signs: Sequence[Sign]) -> list[list[str]]:
    """Where brackets over notes in the time of others start and stop, sign by sign.

    One stops as soon as what it holds fills a plain length.
    """
    found: list[list[str]] = [[] for _ in signs]
    total = Fraction(0)
    for place, sign in enumerate(signs):
        if not sign.ratio:
            continue
        if not place or signs[place - 1].ratio != sign.ratio or "stop" in found[place - 1]:
            total = Fraction(0)
            found[place].append("start")
        total += sign.length
        is_plain = not total.denominator & (total.denominator - 1)
        if is_plain or place + 1 == len(signs) or signs[place + 1].ratio != sign.ratio:
            found[place].append("stop")
    return found
