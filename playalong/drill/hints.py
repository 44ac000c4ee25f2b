"""What a person may have meant by a word that is no token of bar notation."""

from __future__ import annotations

import re

TOKEN_HELP = (
    "a token is a finger 0 to 4, a pitch like C5, a rest r, a tie _, a position like p3:, "
    "a string like D:, ( ) for one bow or | for a bar line"
)
DOUBLE_STOP = "two notes at once are not played; write one of them, or a drill for each voice"
NOT_THERE = {  # what teachers write and no drill can play, and what they may write instead
    r"[0-4][#bnx]*[+&][0-4].*|[A-G][#b]?[0-9](=[0-4])?[+&][A-G].*|\[.*|.*\]": DOUBLE_STOP,
    r"[0-4T][#bnx]*[°º].*|[o°º][0-4T].*|[A-G][#bn]?[0-9](=[0-4T])?[°º].*": (
        "the sign of a harmonic is an o after its finger, like {note}o"
    ),
    r"tr.*|.*tr": (
        "trills are not played; write the note alone, or its notes one by one, like "
        "1*1/4 2*1/4 1*1/4 2*1/4"
    ),
    r"[t+]|t[#bnx]|th|thumb|[A-G][#bn]?[0-9]=([t+]|th|thumb)": (
        "the thumb is written T, after a thumb position like t7:"
    ),
}
_ASCII = str.maketrans("♯♭♮", "#bn")


def why_not(word: str) -> str:
    """A message for a word that is no token, with the nearest right thing."""
    bare = word.lstrip("-~").partition("*")[0].rstrip(".")
    for expression, instead in NOT_THERE.items():
        if re.fullmatch(expression, bare):
            pitch = re.match("[A-G][#bn]?[0-9]", bare)
            said = instead.format(note=bare.strip("o°º"), pitch=pitch[0] if pitch else "D5")
            return f'"{word}": {said}'
    if match := re.fullmatch(r"(p[0-9]+!?:|[A-G]:)([^\s!]\S*)", word):
        return f'"{word}" is not a token; write a space after the colon: "{match[1]} {match[2]}"'
    if re.search("[♯♭♮]", word):
        return f'"{word}" is not a token; did you mean "{word.translate(_ASCII)}"?'
    if match := re.fullmatch(r"([#bn])([0-4])", word):
        return f'"{word}" is not a token; did you mean "{match[2]}{match[1]}"?'
    if re.fullmatch(r"[h-zH-Z]:", word):
        return f'"{word}" is not a token; strings are named A to G, like "D:"'
    if re.fullmatch(r"[pP]\d+!?:?", word):
        fixed = word.lower().rstrip(":") + ":"
        return f'"{word}" is not a token; did you mean "{fixed}"?'
    if re.fullmatch(r"p!\d+:?|p\d+:!", word):
        digits = re.sub(r"\D", "", word)
        return f'"{word}" is not a token; did you mean "p{digits}!:"?'
    if re.fullmatch(r"[-~]?g:", word):
        return f'"{word}" stands right before its note, with no space: "g:2"; the G string is "G:"'
    if re.fullmatch(r"[a-g]:", word):
        return f'"{word}" is not a token; did you mean "{word.upper()}"?'
    if re.fullmatch(r"[-~]?[A-G](#|b)?", word):
        return (
            f'"{word}" is not a token; a pitch needs its octave, like "{word}4", '
            f'a string its colon, like "{word.lstrip("-~")[0]}:"'
        )
    if re.fullmatch(r"[-~]?[H-Zh-qs-z]\d", word):
        ours = "; H is written B" if word.lstrip("-~")[0] in "Hh" else ""
        return f'"{word}" is not a token; pitch letters are A to G{ours}'
    if match := re.fullmatch(r"([-~]?[A-G])(is|e?s)(\d\S*)", word):
        sign = "#" if match[2] == "is" else "b"
        return f'"{word}" is not a token; did you mean "{match[1]}{sign}{match[3]}"?'
    if re.fullmatch(r"R", word):
        return '"R" is not a token; did you mean "r" (a rest)?'
    if word in ("-", "~"):
        return f'"{word}" stands right before its token, with no space: "{word}3"'
    if word.startswith("*"):
        return f'"{word}" stands right after its token, with no space: "1{word}"'
    if word.endswith("*"):
        return f'"{word}" is not a token; a length stands after the *, like "{word}2"'
    if match := re.fullmatch(r"([-~]?[0-4A-G][^_]*)(_.*)", word):
        return f'"{word}" is not a token; tokens are apart by spaces: "{match[1]} {match[2]}"'
    if re.fullmatch(r"[0-4](-[0-4])+", word):
        return f'"{word}" is not a token; tokens are apart by spaces: "{word.replace("-", " ")}"'
    if re.fullmatch(r"[IVX]+:?", word):
        return f'"{word}" is not a token; strings are named by their letters, like "D:"'
    if re.fullmatch(r"[A-Ga-g](#|b)?\d\d+", word):
        return f'"{word}" is not a token; octaves go from 0 to 9, and C4 is middle C'
    if re.fullmatch(r"\d+,.*|.*,", word):
        return f'"{word}" is not a token; tokens are apart by spaces, not commas'
    return f'"{word}" is not a token; {TOKEN_HELP}'
