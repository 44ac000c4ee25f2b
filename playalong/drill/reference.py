"""The settings of a drill file, told: as a list for people, as JSON Schema for editors."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from playalong.drill.checks import Setting, table
from playalong.drill.kinds import INSTRUMENT_SETTINGS
from playalong.drill.schema import REQUIRED, SETTINGS, STAGE_SETTINGS, TABLES
from playalong.drill.stage import STAGES


def toml(value: object) -> str:
    """A value as a drill file says it."""
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{name} = {toml(each)}" for name, each in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(toml, value)) + "]"
    return json.dumps(value, ensure_ascii=False)


def settings_list() -> Iterator[tuple[str, str, str]]:
    """Every setting with its help and its default, below a heading."""
    yield "setting", "what it is", "if left out"
    tables = {"": SETTINGS, "instrument.": INSTRUMENT_SETTINGS, "stage.NAME.": STAGE_SETTINGS}
    for start, settings in tables.items():
        for name, setting in settings.items():
            needed = "it is needed" if start + name in REQUIRED else ""
            default = needed if setting.default is None else toml(setting.default)
            yield f"{start}{name}", setting.help, default


def json_schema() -> dict[str, Any]:
    """A drill file as JSON Schema (draft 2020-12), for editors that know TOML."""
    drill = table({name: row for name, row in SETTINGS.items() if "." not in name})
    drill["properties"] |= {name: table(_below(name)) for name in TABLES} | {"stage": _own_stages()}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "playalong drill",
        "description": "A drill for a string player: a bar of fingerings that climbs",
        **drill,
        "required": list(REQUIRED),
    }


def _below(name: str) -> dict[str, Setting]:
    """The settings of one table, by their own names."""
    rows = (dotted.partition(".") for dotted in SETTINGS)
    return {last: SETTINGS[f"{name}.{last}"] for first, _, last in rows if first == name}


def _own_stages() -> dict[str, Any]:
    return {
        "description": "stages of your own: [stage.NAME]",
        "type": "object",
        "propertyNames": {"pattern": r"^[^./\\]{1,40}$", "not": {"enum": list(STAGES)}},
        "additionalProperties": table(STAGE_SETTINGS),
    }
