"""What a word that is no token was meant to be: the answer offers it."""

from __future__ import annotations

import re

import pytest
from explained import drill_text

from playalong.drill.load import parse
from playalong.errors import PlayalongError

MEANT = [
    ("p3", 'did you mean "p3:"'),
    ("P12:", 'did you mean "p12:"'),
    ("p3!", 'did you mean "p3!:"'),
    ("p!3", 'did you mean "p3!:"'),
    ("p3:!", 'did you mean "p3!:"'),
    ("p3!:1", 'write a space after the colon: "p3!: 1"'),
    ("p12:4", 'write a space after the colon: "p12: 4"'),
    ("G:0", 'write a space after the colon: "G: 0"'),
    ("a:", 'did you mean "A:"'),
    ("g:", 'stands right before its note, with no space: "g:2"; the G string is "G:"'),
    ("h:", 'strings are named A to G, like "D:"'),
    ("Z:", 'strings are named A to G, like "D:"'),
    ("#1", 'did you mean "1#"'),
    ("b4", 'pitch letters are capitals; did you mean "B4"'),
    ("n3", 'did you mean "3n"'),
    ("3♯", 'did you mean "3#"'),
    ("1♭*2", 'did you mean "1b*2"'),
    ("4♮", 'did you mean "4n"'),
    ("F#", 'a pitch needs its octave, like "F#4", a string its colon, like "F:"'),
    ("-G", 'a pitch needs its octave, like "-G4", a string its colon, like "G:"'),
    ("~Bb", 'a pitch needs its octave, like "~Bb4", a string its colon, like "B:"'),
    ("~H4", "pitch letters are A to G"),
    ("s2", "pitch letters are A to G"),
    ("H4", "pitch letters are A to G; H is written B"),
    ("Es4=1", 'did you mean "Eb4=1"'),
    ("As3*2", 'did you mean "Ab3*2"'),
    ("~Fis4", 'did you mean "~F#4"'),
    ("f#4", 'pitch letters are capitals; did you mean "F#4"'),
    ("R", 'did you mean "r" (a rest)'),
    ("~", 'stands right before its token, with no space: "~3"'),
    ("-", 'stands right before its token, with no space: "-3"'),
    ("*1/2", 'stands right after its token, with no space: "1*1/2"'),
    ("F#4*", 'a length stands after the *, like "F#4*2"'),
    ("0-4-1", 'tokens are apart by spaces: "0 4 1"'),
    ("III:", "strings are named by their letters"),
    ("V", "strings are named by their letters"),
    ("A44", "octaves go from 0 to 9, and C4 is middle C"),
    ("bb10", "octaves go from 0 to 9, and C4 is middle C"),
    ("1,2", "tokens are apart by spaces, not commas"),
    ("C5,", "tokens are apart by spaces, not commas"),
    ("1..", "one dot or a *, not more: a double dot is *7/4"),
    ("1.*2", "one dot or a *, not more: a double dot is *7/4"),
    ("2_*3", 'tokens are apart by spaces: "2 _*3"'),
    ("1+3", "two notes at once are not played; write one of them, or a drill for each voice"),
    ("D4+F4", "two notes at once are not played; write one of them, or a drill for each voice"),
    ("[1", "two notes at once are not played; write one of them, or a drill for each voice"),
    ("4°", "the sign of a harmonic is an o after its finger, like 4o"),
    ("~3°*2", "the sign of a harmonic is an o after its finger, like 3o"),
    ("D5=3°", "the sign of a harmonic is an o after its finger"),
    ("tr", "trills are not played; write the note alone, or its notes one by one"),
    ("2tr*2", "trills are not played; write the note alone, or its notes one by one"),
    ("th", "the thumb is written T, after a thumb position like t7:"),
    ("A4=th", "the thumb is written T, after a thumb position like t7:"),
    ("one", "a token is a finger 0 to 4, a pitch like C5, a rest r, a tie _, a position"),
]


@pytest.mark.parametrize(("word", "said"), MEANT)
def test_a_word_that_is_no_token_comes_with_what_was_meant(word: str, said: str) -> None:
    with pytest.raises(PlayalongError, match=re.escape(said)) as caught:
        parse(drill_text(f"1 {word} 2 3"))
    assert str(caught.value).startswith("drill.toml, line 3: ")
    assert f'"{word}"' in str(caught.value)


OFFERED = ("p3:", "p3!:", "p12:", "A:", "2#", "1b*2", "F#4", "-G4", "B4", "r", "1*1/2", "F#4*2",
    "1*7/4", "1*3/4", "2*1/4",
)  # fmt: skip


@pytest.mark.parametrize("word", OFFERED)
def test_what_is_offered_is_a_token(word: str) -> None:
    """Whatever else is then wrong with the bar."""
    try:
        parse(drill_text(f"{word} A: 1*8"))
    except PlayalongError as error:
        assert "is not a token" not in str(error)  # noqa: PT017
