"""What any setting may be made of: text, numbers, choices, lists, tables of settings.

A check is data as well as a function: `json` says in JSON Schema (draft 2020-12) what `read` takes.
It may be a little wider than the function, where JSON Schema has no words for it, never narrower.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from playalong.errors import nearest, short

LONGEST_LIST = 64
LONGEST_TEXT = 300


@dataclass(frozen=True)
class Check:
    """`read` turns a TOML value into ours, or raises ValueError or PlayalongError."""

    read: Callable[[Any], Any]
    json: Mapping[str, Any]

    def __call__(self, value: Any) -> Any:
        return self.read(value)

    def then(self, turn: Callable[[Any], Any]) -> Check:
        """The same check, and its value turned once more."""
        return Check(lambda value: turn(self.read(value)), self.json)


@dataclass(frozen=True)
class Setting:
    """`default` is what a file that leaves it out might as well say; None where there is none."""

    check: Check
    help: str
    default: Any = None


def type_error(value: object, expected: str) -> ValueError:
    return ValueError(f"{shown(value)} is not {expected}")


def shown(value: object) -> str:
    """A TOML value as a message quotes it, never longer than a line."""
    if isinstance(value, (dict, list)):
        return "a table" if isinstance(value, dict) else "a list"
    if isinstance(value, int) and abs(value) >= 10**12:
        return "so large a number"
    text = f'"{value}"' if isinstance(value, str) else str(value).lower()
    return short(text)


def any_of(*kinds: Mapping[str, Any]) -> dict[str, Any]:
    return {"anyOf": list(kinds)}


def pattern(*expressions: str) -> dict[str, Any]:
    """Text that is one of these expressions from end to end."""
    return {"type": "string", "pattern": f"^({'|'.join(expressions)})$"}


def names(known: Iterable[str], signs: Mapping[str, str] | None = None) -> dict[str, Any]:
    """One of these names, in any case and spaced anyhow; `signs` may be written otherwise too."""
    written, loose = tuple(known), {" ": r"\s+", **(signs or {})}
    expressions = (
        "".join(loose.get(sign, f"[{sign.upper()}{sign.lower()}]") for sign in name)
        for name in written
    )
    return any_of({"enum": list(written)}, pattern(rf"\s*({'|'.join(expressions)})\s*"))


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise type_error(value, 'text in quotes, like "First to third"')
    cleaned = " ".join(value.split())
    if not cleaned:
        raise ValueError("is empty")
    if any(unicodedata.category(sign) == "Cc" or sign in "\ufffe\uffff" for sign in cleaned):
        raise ValueError("has a control character in it, which no sheet can print")
    if len(cleaned) > LONGEST_TEXT:
        raise ValueError(f"has {len(cleaned)} characters; {LONGEST_TEXT} at most")
    return cleaned


def _flag(value: Any) -> bool:
    if not isinstance(value, bool):
        raise type_error(value, "true or false")
    return value


TEXT = Check(_text, pattern(rf"\s*(\S\s*){{1,{LONGEST_TEXT}}}"))
FLAG = Check(_flag, {"type": "boolean"})


def whole(low: int, high: int, unit: str = "") -> Check:
    def read(value: Any) -> int:
        if not isinstance(value, int) or isinstance(value, bool):
            raise type_error(value, f"a whole number from {low} to {high}{unit}")
        if not low <= value <= high:
            raise ValueError(f"{shown(value)} is outside {low} to {high}{unit}")
        return value

    return Check(read, {"type": "integer", "minimum": low, "maximum": high})


def number(low: float, high: float, unit: str = "") -> Check:
    def read(value: Any) -> float:
        if not isinstance(value, (int, float)) or isinstance(value, bool):
            raise type_error(value, f"a number from {low:g} to {high:g}{unit}")
        if not low <= value <= high:
            raise ValueError(f"{shown(value)} is outside {low:g} to {high:g}{unit}")
        return float(value)

    return Check(read, {"type": "number", "minimum": low, "maximum": high})


def choice(options: Sequence[str]) -> Check:
    def read(value: Any) -> str:
        if value not in options:
            hint = nearest(value if isinstance(value, str) else "", options)
            raise ValueError(f"{shown(value)} is not known here{hint}")
        return str(value)

    return Check(read, {"enum": list(options)})


def list_of(check: Check) -> Check:
    """A list, or one value standing for a list of one."""

    def read(value: Any) -> tuple[Any, ...]:
        values = value if isinstance(value, list) else [value]
        if not values:
            raise ValueError("is an empty list; leave it out for the default")
        if len(values) > LONGEST_LIST:
            raise ValueError(f"has {len(values)} entries; {LONGEST_LIST} at most")
        return tuple(check(each) for each in values)

    return Check(read, any_of(check.json, array(check)))


def array(check: Check) -> dict[str, Any]:
    return {"type": "array", "items": check.json, "minItems": 1, "maxItems": LONGEST_LIST}


def distinct(check: Check) -> Check:
    """The same, in which nothing stands twice."""
    every = list_of(check)

    def read(value: Any) -> tuple[Any, ...]:
        values: tuple[Any, ...] = every(value)
        for each in values:
            if values.count(each) > 1:
                raise ValueError(f'"{short(str(each))}" stands twice')
        return values

    return Check(read, any_of(check.json, array(check) | {"uniqueItems": True}))


def read_table(value: Mapping[str, Any], settings: Mapping[str, Setting]) -> dict[str, Any]:
    """The values of a table that may hold these settings."""
    for name in value:
        if name not in settings:
            raise ValueError(f'"{short(name)}" is not known here{nearest(name, settings)}')
    return {name: settings[name].check(each) for name, each in value.items()}


def table(settings: Mapping[str, Setting]) -> dict[str, Any]:
    """A table of these settings and no others, with their help and defaults."""
    properties = {}
    for name, setting in settings.items():
        default = {} if setting.default is None else {"default": setting.default}
        properties[name] = {"description": setting.help, **default, **setting.check.json}
    return {"type": "object", "properties": properties, "additionalProperties": False}
