"""Whether the bar and the instrument agree: strings, fingers, and a hand to play them."""

from __future__ import annotations

from playalong.drill.errors import NotationError
from playalong.drill.notation import Pattern, Token
from playalong.music.instrument import Instrument


def check_tokens(pattern: Pattern, instrument: Instrument) -> None:
    """NotationError for the first note that this instrument could not take."""
    for token in pattern.tokens:
        if not token.is_rest:
            _check(token, instrument, pattern.names_strings)


def _check(token: Token, instrument: Instrument, names_strings: bool) -> None:
    here, strings = instrument.name, instrument.string_names
    message = None
    if token.string and not strings:
        message = f'"{token.string}:": no strings are known for {here}; leave it out'
    elif token.string and token.string not in strings:
        message = f'"{token.string}:" is not a string of the {here}; its strings are '
        message += ", ".join(strings)
    elif not token.is_pitch and not instrument.has_hand:
        message = f'"{token.text}": a hand on the {here} is not modelled; write pitches, like C5'
    elif token.finger is not None and names_strings and not token.string:
        message = (
            f'"{token.text}": on which string? The bar names strings, so write one '
            f'before its first note, like "{strings[0]}:"'
        )
    if message:
        raise NotationError(message, token.offset)
