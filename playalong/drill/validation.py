"""Whether bar, drone and instrument agree: strings, fingers, a hand, and tones to be heard."""

from __future__ import annotations

from dataclasses import replace

from playalong.drill.errors import NotationError
from playalong.drill.model import DRONES, Drill
from playalong.drill.notation import Pattern, Token
from playalong.errors import PlayalongError
from playalong.instrument.instruments import Instrument
from playalong.music.pitch import Pitch

DRONE_KEYS = (16, 108)  # MIDI keys from E0, 20.6 Hz, to C8


def check_tokens(pattern: Pattern, instrument: Instrument) -> None:
    """NotationError for the first note that this instrument could not take."""
    for token in pattern.tokens:
        if not token.is_rest:
            _check(token, instrument, pattern.names_strings)


def check_drone(drill: Drill) -> None:
    """PlayalongError unless the drone, moved by its octave, can be heard."""
    for tone in _drone_tones(drill):
        moved = replace(tone, index=tone.index + 7 * drill.drone.octave)
        if not DRONE_KEYS[0] <= moved.key_number <= DRONE_KEYS[1]:
            side = "low" if moved.key_number < DRONE_KEYS[0] else "high"
            raise PlayalongError(f"the drone would sound {moved}, too {side} to hear")


def _drone_tones(drill: Drill) -> tuple[Pitch, ...]:
    """What the drone sounds in every key, before its octave moves it."""
    on, instrument = drill.drone.on, drill.instrument
    if on == "off":
        return ()
    if on.startswith("open "):
        return (instrument.string(on.removeprefix("open ")),)
    if on not in DRONES:
        return (Pitch.of(on),)
    return tuple(key.tonic_at_or_above(instrument.lowest) for key in drill.keys)


def _check(token: Token, instrument: Instrument, names_strings: bool) -> None:
    here, strings = instrument.name, instrument.string_names
    message = None
    if token.string and not strings:
        message = f'"{token.string}:": no strings are known for {here}; leave it out'
    elif token.string and token.string not in strings:
        message = f'"{token.string}:" is not a string of the {here}; its strings are '
        message += ", ".join(strings)
    elif not token.is_pitch and not instrument.has_hand:
        message = (
            f'"{token.text}": fingers are for violin and viola; for {here} write pitches, like C4'
        )
    elif token.finger is not None and names_strings and not token.string:
        message = (
            f'"{token.text}": on which string? The bar names strings, so write one '
            f'before its first note, like "{strings[0]}:"'
        )
    if message:
        raise NotationError(message, token.offset)
