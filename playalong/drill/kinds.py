"""What a drill's own settings may hold: keys, meters, lengths, climbs, drones, instruments."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Any

from playalong.drill.checks import (
    TEXT,
    Check,
    Setting,
    any_of,
    array,
    choice,
    list_of,
    names,
    number,
    pattern,
    read_table,
    shown,
    table,
    type_error,
    whole,
)
from playalong.drill.model import DRONES
from playalong.errors import nearest
from playalong.instrument.catalogue import INSTRUMENTS, find_instrument, known_names, pitch_name
from playalong.instrument.instruments import Instrument
from playalong.instrument.shift import LEADS, Lead
from playalong.music.key import ALL_KEYS, Key, parse_key
from playalong.music.meter import NOTE_LENGTHS, UNITS, Meter
from playalong.music.pitch import Pitch

DRONE_PITCH = "[A-G](##|bb|[#bnx♯♭♮])?[0-9]"
LENGTH_HELP = 'a length in plain notes, like "1", "3/2" or "1/2"'


def _bar_text(value: Any) -> str:
    if not isinstance(value, str):
        raise type_error(value, 'bar notation in quotes, like "p1: 1 2 3 1"')
    return value


BAR = Check(_bar_text, {"type": "string"})


def _key(value: Any) -> Key:
    if not isinstance(value, str):
        raise type_error(value, 'a key like "F major"')
    return parse_key(value)


KEY = Check(
    _key,
    names(
        (key.name for key in ALL_KEYS),
        {
            "#": r"([#♯]|(\s+|-)[Ss][Hh][Aa][Rr][Pp])",
            "b": r"([Bb♭]|(\s+|-)[Ff][Ll][Aa][Tt])",
        },
    ),
)


def _meter(value: Any) -> Meter:
    if not isinstance(value, str):
        raise type_error(value, 'a meter in quotes, like "4/4"')
    return Meter.parse(value)


METER = Check(
    _meter,
    pattern(rf"\s*(0?[1-9]|[12][0-9]|3[0-2])\s*/\s*0?({'|'.join(map(str, UNITS))})\s*"),
)
NOTE = choice(tuple(NOTE_LENGTHS)).then(NOTE_LENGTHS.__getitem__)


def _length(value: Any) -> Fraction:
    written = value if isinstance(value, str) else shown(value)
    if not re.fullmatch(r"[0-9]{1,2}(/[0-9]{1,3})?", written):
        raise type_error(value, LENGTH_HELP)
    try:
        length = Fraction(written)
    except ZeroDivisionError:
        raise type_error(value, LENGTH_HELP) from None
    if not 0 < length <= 64:
        raise type_error(value, LENGTH_HELP)
    return length


LENGTH = Check(
    _length,
    any_of(whole(1, 64).json, pattern("(0?[1-9]|[1-9][0-9])(/0{0,2}[1-9][0-9]{0,2})?")),
)
SHARE = number(0.05, 0.7).then(lambda share: Fraction(str(share)))
PLACES, START = whole(1, 21), whole(0, 21)


def _climb(value: Any) -> int | tuple[int, ...]:
    if isinstance(value, list):
        starts: tuple[int, ...] = list_of(START)(value)
        return starts
    return int(PLACES(value))


CLIMB = Check(_climb, any_of(PLACES.json, array(START)))


def _step(value: Any) -> str:
    if not isinstance(value, str) or not re.fullmatch(
        r"marks|\+[0-9]{1,3}(\.[0-9]{1,2}%|%)?", value
    ):
        raise type_error(value, 'a tempo step: "marks", or like "+4" or "+5%"')
    if value != "marks" and float(value.strip("+%")) < 1:
        raise ValueError(f'"{value}" hardly climbs; "+1" and "+1%" are the least')
    return value


STEP = Check(
    _step,
    any_of(
        {"enum": ["marks"]},
        pattern(r"\+0{0,2}[1-9][0-9]{0,2}((\.[0-9]{1,2})?%)?") | {"examples": ["+4", "+5%"]},
    ),
)


def _drone(value: Any) -> str:
    if isinstance(value, str):
        if value in DRONES or re.fullmatch(f"open [A-G]|{DRONE_PITCH}", value):
            return value
        hint = nearest(value, [*DRONES, "open D"])
        raise ValueError(f"{shown(value)} is not a drone (a pitch like A3 would be){hint}")
    raise type_error(value, 'a drone: "tonic", "tonic and fifth", "off", "open D" or a pitch')


DRONE = Check(
    _drone,
    any_of(
        {"enum": list(DRONES)},
        pattern("open [A-G]", DRONE_PITCH) | {"examples": ["open D", "A3"]},
    ),
)
FINGER = choice(LEADS)
LEAD_SETTINGS = {
    "up": Setting(FINGER, "where the hand goes up"),
    "down": Setting(FINGER, "where the hand goes down"),
}


def _lead(value: Any) -> Lead:
    if isinstance(value, dict):
        return Lead(**read_table(value, LEAD_SETTINGS))
    finger = FINGER(value)
    return Lead(finger, finger)


LEAD = Check(_lead, any_of(FINGER.json, table(LEAD_SETTINGS)))
NAME = Check(TEXT.then(find_instrument).read, names(known_names(), {"b": "[Bb♭]"}))
SIZES = tuple(dict.fromkeys(size for each in INSTRUMENTS.values() for size in each.sizes))
OTHER_HANDS = tuple(dict.fromkeys(hand for each in INSTRUMENTS.values() for hand in each.hands))
PITCHES = tuple(dict.fromkeys(name for each in INSTRUMENTS.values() for name in each.pitches))


def _tuned_to(value: Any) -> Pitch:
    if not isinstance(value, str) or not re.fullmatch("[A-G](#|b|♯|♭)?[0-9]", value):
        raise type_error(value, 'a pitch as it sounds, like "G3" or "F#4"')
    return Pitch.of(value)


TUNED_TO = Check(_tuned_to, pattern("[A-G](#|b|♯|♭)?[0-9]") | {"examples": ["A4", "Eb4"]})


def _made_in(value: Any) -> str:
    name = pitch_name(TEXT(value))
    if name not in PITCHES:
        raise ValueError(f"{shown(value)} is not known here{nearest(name, PITCHES)}")
    return name


MADE_IN = Check(_made_in, names(PITCHES, {"b": "([Bb♭]| flat)"}))
INSTRUMENT_SETTINGS = {
    "name": Setting(NAME, "violin, viola, cello, bass; voices and winds in written pitches"),
    "in": Setting(
        MADE_IN,
        'the pitch that a transposing instrument is made in, like "A"',
    ),
    "strings": Setting(list_of(TUNED_TO), "how the strings are tuned, as they sound"),
    "size": Setting(choice(SIZES), f"of a bowed instrument: {', '.join(SIZES)}"),
    "hand": Setting(choice(OTHER_HANDS), f"of a bass: {', '.join(OTHER_HANDS)}"),
    "string_length_mm": Setting(number(0, 2000), "length of the string, in place of a size"),
}
_CHANGES: Mapping[str, Callable[[Instrument, Any], Instrument]] = {
    "in": Instrument.made_in,
    "strings": Instrument.tuned,
    "size": Instrument.with_size,
    "hand": Instrument.with_hand,
    "string_length_mm": Instrument.with_string_length,
}


def _instrument(value: Any) -> Any:
    if not isinstance(value, dict):
        return NAME(value)
    own = read_table(value, INSTRUMENT_SETTINGS)
    if "name" not in own:
        raise ValueError('[instrument] needs a name, like name = "violin"')
    if "size" in own and "string_length_mm" in own:
        raise ValueError("size and string_length_mm say the same; leave one of them out")
    instrument = own.pop("name")
    for setting, value in own.items():
        instrument = _CHANGES[setting](instrument, value)
    return instrument


INSTRUMENT = Check(
    _instrument, any_of(NAME.json, table(INSTRUMENT_SETTINGS) | {"required": ["name"]})
)
