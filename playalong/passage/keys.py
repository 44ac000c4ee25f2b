"""The key that holds in each bar of a passage, from signatures and from what a person says."""

from __future__ import annotations

from playalong.music.key import ALL_KEYS, Key
from playalong.passage.line import Line
from playalong.passage.model import PassageError, ScoreBar

MODES = ("major", "minor")


def keys_of(line: Line, asked: Key | None) -> tuple[tuple[Key, ...], tuple[str, ...]]:
    """The key that sounds in every bar, and what was not certain of them.

    What is asked for holds until the signature changes. PassageError where nothing says a key.
    """
    first, found, told = line.bars[0], list[Key](), list[str]()
    if asked:
        key = asked
    else:
        key = _likeliest(line, 0, None)
        told += _doubt(first, key, "; --key does")
    signature = first.signature
    for place, bar in enumerate(line.bars):
        if bar.signature is None and signature is not None:
            told.append(
                f"accidentals are written out from bar {bar.number}, whose signature is "
                "none of the usual ones"
            )
        elif bar.signature != signature:
            key = _likeliest(line, place, key)
            told += _doubt(bar, key, f" from bar {bar.number}")
        signature = bar.signature
        found.append(key)
    return tuple(found), tuple(told)


def _candidates(bar: ScoreBar) -> list[Key]:
    """The keys of a bar's signature and, where it is said, of its mode; as they sound."""
    modes = [bar.mode] if bar.mode in MODES else MODES
    keys = [key for mode in modes for key in ALL_KEYS if key.mode == mode]
    return [bar.transposition.sounding_key(key) for key in keys if key.signature == bar.signature]


def _likeliest(line: Line, place: int, before: Key | None) -> Key:
    """The key from a bar on: on the tonic that was before, or on the note that ends the passage."""
    bar = line.bars[place]
    keys = _candidates(bar)
    if not keys:
        raise PassageError(
            f"bar {bar.number} has no key signature, or none of the usual ones; say its --key, "
            'like --key "G major"'
        )
    last = line.notes[-1].pitch.letter

    def likelihood(key: Key) -> tuple[bool, bool, bool]:
        if before is None:
            return False, key.letter == last, False
        same_tonic = (key.letter, key.alter) == (before.letter, before.alter)
        return same_tonic, key.mode == before.mode, key.letter == last

    return max(keys, key=likelihood)  # of equals the first, in major


def _doubt(bar: ScoreBar, key: Key, more: str) -> list[str]:
    """That the score does not say which key it is."""
    others = [each.name for each in _candidates(bar) if each != key]
    if not others:
        return []
    return [f"the score does not say whether it is {key} or {' or '.join(others)}{more}"]
