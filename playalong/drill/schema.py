"""Every setting of a drill file: its name, what it may hold, and a line of help.

The loader and its messages read these rows, and a test holds the README to them.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from playalong.drill.model import BOWS, CLICKS, DRONES, TEMPO_RANGE_BPM
from playalong.drill.stage import GHOST_LEVELS, GUIDE_LEVELS, SLIDE_LEVELS
from playalong.errors import nearest
from playalong.instrument.instruments import find_instrument
from playalong.instrument.shift import LEADS, Lead
from playalong.music.key import Key, parse_key
from playalong.music.meter import NOTE_LENGTHS, Meter
from playalong.music.temperament import A4_RANGE_HZ, TEMPERAMENTS

Check = Callable[[Any], Any]
DRONE_PITCH = re.compile("[A-G](##|bb|[#bnx♯♭♮])?[0-9]")
LONGEST_LIST = 64
LENGTH_HELP = 'a length in plain notes, like "1", "3/2" or "1/2"'


@dataclass(frozen=True)
class Setting:
    """`check` turns the TOML value into ours or raises ValueError or PlayalongError."""

    check: Check
    help: str


def _type_error(value: object, expected: str) -> ValueError:
    return ValueError(f"{_shown(value)} is not {expected}")


def _shown(value: object) -> str:
    """A TOML value as a message quotes it, never longer than a line."""
    if isinstance(value, (dict, list)):
        return "a table" if isinstance(value, dict) else "a list"
    if isinstance(value, int) and abs(value) >= 10**12:
        return "so large a number"
    text = f'"{value}"' if isinstance(value, str) else str(value).lower()
    return text if len(text) <= 60 else text[:59] + "…"


def text(value: Any) -> str:
    if not isinstance(value, str):
        raise _type_error(value, 'text in quotes, like "First to third"')
    cleaned = " ".join(value.split())
    if not cleaned:
        raise ValueError("is empty")
    if any(unicodedata.category(sign) == "Cc" or sign in "\ufffe\uffff" for sign in cleaned):
        raise ValueError("has a control character in it, which no sheet can print")
    if len(cleaned) > 300:
        raise ValueError(f"has {len(cleaned)} characters; 300 at most")
    return cleaned


def bar_text(value: Any) -> str:
    if not isinstance(value, str):
        raise _type_error(value, 'bar notation in quotes, like "p1: 1 2 3 1"')
    return value


def flag(value: Any) -> bool:
    if not isinstance(value, bool):
        raise _type_error(value, "true or false")
    return value


def whole(low: int, high: int, unit: str = "") -> Check:
    def check(value: Any) -> int:
        if not isinstance(value, int) or isinstance(value, bool):
            raise _type_error(value, f"a whole number from {low} to {high}{unit}")
        if not low <= value <= high:
            raise ValueError(f"{_shown(value)} is outside {low} to {high}{unit}")
        return value

    return check


def number(low: float, high: float, unit: str = "") -> Check:
    def check(value: Any) -> float:
        if not isinstance(value, (int, float)) or isinstance(value, bool):
            raise _type_error(value, f"a number from {low:g} to {high:g}{unit}")
        if not low <= value <= high:
            raise ValueError(f"{_shown(value)} is outside {low:g} to {high:g}{unit}")
        return float(value)

    return check


def share(value: Any) -> Fraction:
    return Fraction(str(number(0.05, 0.7)(value)))


def choice(options: Sequence[str]) -> Check:
    def check(value: Any) -> str:
        if value not in options:
            hint = nearest(value if isinstance(value, str) else "", options)
            raise ValueError(f"{_shown(value)} is not known here{hint}")
        return str(value)

    return check


def list_of(check: Check) -> Check:
    """A list, or one value standing for a list of one."""

    def check_all(value: Any) -> tuple[Any, ...]:
        values = value if isinstance(value, list) else [value]
        if not values:
            raise ValueError("is an empty list; leave it out for the default")
        if len(values) > LONGEST_LIST:
            raise ValueError(f"has {len(values)} entries; {LONGEST_LIST} at most")
        return tuple(check(each) for each in values)

    return check_all


def distinct(check: Check) -> Check:
    def check_all(value: Any) -> tuple[Any, ...]:
        values: tuple[Any, ...] = list_of(check)(value)
        for each in values:
            if values.count(each) > 1:
                raise ValueError(f'"{each}" stands twice')
        return values

    return check_all


def key(value: Any) -> Key:
    if not isinstance(value, str):
        raise _type_error(value, 'a key like "F major"')
    return parse_key(value)


def meter(value: Any) -> Meter:
    if not isinstance(value, str):
        raise _type_error(value, 'a meter in quotes, like "4/4"')
    return Meter.parse(value)


def note(value: Any) -> Fraction:
    return NOTE_LENGTHS[choice(tuple(NOTE_LENGTHS))(value)]


def length(value: Any) -> Fraction:
    plain = isinstance(value, (str, int)) and not isinstance(value, bool)
    if not plain or not re.fullmatch(r"[0-9]{1,2}(/[0-9]{1,3})?", _shown(value).strip('"')):
        raise _type_error(value, LENGTH_HELP)
    try:
        written = Fraction(value)
    except ZeroDivisionError:
        raise _type_error(value, LENGTH_HELP) from None
    if not 0 < written <= 64:
        raise _type_error(value, LENGTH_HELP)
    return written


def climb(value: Any) -> int | tuple[int, ...]:
    if isinstance(value, list):
        starts: tuple[int, ...] = list_of(whole(0, 21))(value)
        return starts
    return int(whole(1, 21)(value))


def step(value: Any) -> str:
    if not isinstance(value, str) or not re.fullmatch(
        r"marks|\+[0-9]{1,3}(\.[0-9]{1,2}%|%)?", value
    ):
        raise _type_error(value, 'a tempo step: "marks", or like "+4" or "+5%"')
    if value != "marks" and float(value.strip("+%")) < 1:
        raise ValueError(f'"{value}" hardly climbs; "+1" and "+1%" are the least')
    return value


def drone(value: Any) -> str:
    if isinstance(value, str):
        if value in DRONES or re.fullmatch(r"open [A-G]", value):
            return value
        if DRONE_PITCH.fullmatch(value):
            return value
        hint = nearest(value, [*DRONES, "open D"])
        raise ValueError(f"{_shown(value)} is not a drone (a pitch like A3 would be){hint}")
    raise _type_error(value, 'a drone: "tonic", "tonic and fifth", "off", "open D" or a pitch')


def lead(value: Any) -> Lead:
    if isinstance(value, dict):
        for name in value:
            if name not in ("up", "down"):
                raise ValueError(f'"{name}" is not known here{nearest(name, ("up", "down"))}')
        sides = {name: choice(LEADS)(side) for name, side in value.items()}
        return Lead(**sides)
    side = choice(LEADS)(value)
    return Lead(side, side)


def instrument(value: Any) -> Any:
    if isinstance(value, dict):
        for name in value:
            if name not in INSTRUMENT_TABLE:
                raise ValueError(f'"{name}" is not known here{nearest(name, INSTRUMENT_TABLE)}')
        if "name" not in value:
            raise ValueError('[instrument] needs a name, like name = "violin"')
        found = find_instrument(text(value["name"]))
        if "string_length_mm" in value:
            return found.with_string_length(number(0, 2000)(value["string_length_mm"]))
        return found
    return find_instrument(text(value))


INSTRUMENT_TABLE = ("name", "string_length_mm")

SETTINGS = {
    "title": Setting(text, "what the drill is called"),
    "instrument": Setting(
        instrument, "violin, viola, cello, bass, a voice or a wind; a table for a small size"
    ),
    "bar": Setting(bar_text, "the bar, or bars, in bar notation"),
    "strings": Setting(distinct(text), "the drill once on each of these strings"),
    "keys": Setting(distinct(key), "the drill once in each of these keys"),
    "meter": Setting(meter, "4/4, 3/4, 6/8, 5/4 …"),
    "note": Setting(note, "length of a plain token"),
    "climb": Setting(climb, "number of places, or a list of starting positions"),
    "rhythm": Setting(list_of(length), "lengths handed out in turn, in plain notes"),
    "bow": Setting(choice(BOWS), "how much one bow takes"),
    "passes": Setting(whole(1, 16), "how often the written bars are played at each place"),
    "gap": Setting(whole(0, 8, " bars"), "bars of click between passes"),
    "stages": Setting(distinct(text), "listen, answer, check, alone, or stages of your own"),
    "tempo.start": Setting(whole(*TEMPO_RANGE_BPM, " beats a minute"), "the first tempo"),
    "tempo.goal": Setting(whole(*TEMPO_RANGE_BPM, " beats a minute"), "the last tempo"),
    "tempo.step": Setting(step, '"marks" (metronome marks), or like "+4" or "+5%"'),
    "tuning.a4": Setting(number(*A4_RANGE_HZ, " Hz"), "pitch of A4"),
    "tuning.temperament": Setting(choice(TEMPERAMENTS), "how the intervals are tuned"),
    "drone.on": Setting(drone, "tonic, tonic and fifth, off, a pitch, or open D"),
    "drone.octave": Setting(whole(-3, 3), "octaves to move the drone by"),
    "click.every": Setting(choice(CLICKS), "how often the click sounds"),
    "click.count_in": Setting(whole(1, 4, " bars"), "bars before the first note"),
    "slide.lead": Setting(lead, "which finger leads where fingers change"),
    "slide.share": Setting(share, "share of the departing note that a slide takes"),
    "session.play": Setting(number(0.5, 60, " minutes"), "minutes to play before a rest"),
    "session.rest": Setting(number(0, 60, " minutes"), "minutes to rest"),
    "session.taps": Setting(flag, "low taps that tell the stage"),
    "session.home": Setting(flag, "return to the start tempo at the end"),
}
STAGE_SETTINGS = {
    "guide": Setting(list_of(choice(GUIDE_LEVELS)), "level of the guide, pass by pass"),
    "slides": Setting(choice(SLIDE_LEVELS), "how much of the slides is heard"),
    "ghosts": Setting(choice(GHOST_LEVELS), "how much of the ghost notes is heard"),
    "drone": Setting(flag, "whether the drone sounds"),
    "click": Setting(flag, "whether the click sounds after the count-in"),
}
REQUIRED = ("title", "instrument", "bar")
TABLES = tuple(dict.fromkeys(name.split(".")[0] for name in SETTINGS if "." in name))
