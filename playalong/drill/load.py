"""From a drill file to a Drill: the schema's checks, the defaults, and what must agree."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import fields
from pathlib import Path
from typing import Any

from playalong.drill.model import (
    ClickSettings,
    Drill,
    DroneSettings,
    SessionSettings,
    SlideSettings,
    Tempo,
)
from playalong.drill.notation import parse_bars
from playalong.drill.origin import DrillError, SettingError
from playalong.drill.pattern import Pattern
from playalong.drill.schema import REQUIRED, SETTINGS, STAGE_SETTINGS, TABLES
from playalong.drill.source import Source
from playalong.drill.stage import STAGES, Stage
from playalong.drill.validation import check_climbs, check_drill, check_strings, find_stages
from playalong.drill.variation import AS_WRITTEN, Variation
from playalong.errors import PlayalongError, nearest, short
from playalong.instrument.instruments import Instrument
from playalong.music.key import parse_key
from playalong.music.temperament import Tuning

DEFAULT_KEY = "C major"
DEFAULT_STRING = "D"


def load(
    path: Path | str,
    variation: Variation = AS_WRITTEN,
    *,
    defaults: Mapping[str, Any] | None = None,
) -> Drill:
    """Read a drill file, varied where asked. `defaults` are settings for what it leaves out.

    Raises DrillError with file, line, the words at fault and the nearest right thing, and
    SettingError for a variation that does not fit.
    """
    return variation.of(_Loader(Source.read(Path(path)), defaults or {}).drill())


def parse(
    text: str | bytes, variation: Variation = AS_WRITTEN, *, name: str = "drill.toml"
) -> Drill:
    """A drill from the text of a drill file; `name` is what errors call it."""
    raw = text if isinstance(text, bytes) else text.encode(errors="surrogatepass")
    return variation.of(_Loader(Source.parse(raw, name), {}).drill())


class _Loader:
    """One file on its way to a Drill; every complaint knows its line."""

    def __init__(self, source: Source, defaults: Mapping[str, Any]) -> None:
        self.source, self.defaults = source, defaults

    def fail(self, name: str, message: str, value: object = None) -> DrillError:
        return DrillError(self.source.file, self.source.line_of(name, value), message)

    def drill(self) -> Drill:
        own_stages = self.own_stages()
        values = self.values()
        for name in REQUIRED:
            if name not in values:
                message = f"{name} is missing; a drill needs {', '.join(REQUIRED)}"
                raise DrillError(self.source.file, None, message)
        try:
            drill = self.filled_in(values, own_stages)
            check_drill(drill)
        except SettingError as error:
            message = f"{error.setting}: {error.message}"
            raise self.fail(error.setting, message, error.value) from None
        return drill

    def filled_in(self, values: dict[str, Any], own_stages: tuple[Stage, ...]) -> Drill:
        """The drill with its defaults. SettingError for what does not fit together."""
        first_bar = values.get("first_bar", 1)
        pattern = parse_bars(values.pop("bar"), self.source.locator("bar"), first_bar)
        if "bow" in values and pattern.has_slurs:
            message = "the bar has slurs ( ) already; leave one of the two out"
            raise SettingError("bow", message)
        named = values.get("stages") or (*STAGES, *(stage.name for stage in own_stages))
        values["stages"] = find_stages(named, own_stages)
        values["strings"] = self.strings(values.get("strings"), values["instrument"], pattern)
        values.setdefault("keys", (parse_key(DEFAULT_KEY),))
        return Drill(
            pattern=pattern,
            own_stages=own_stages,
            tempo=self.tempo(values),
            tuning=self.tuning(values),
            drone=DroneSettings(**table(values, "drone")),
            click=ClickSettings(**table(values, "click")),
            slide=SlideSettings(**table(values, "slide")),
            session=SessionSettings(**table(values, "session")),
            file=self.source.file,
            sha256=self.source.sha256,
            **{name: value for name, value in values.items() if "." not in name},
        )

    def values(self) -> dict[str, Any]:
        """Every setting that is written or has a default, by dotted name, checked one by one."""
        values = {}
        for name, value in {**self.defaults, **self.flat()}.items():
            if name not in SETTINGS:
                raise self.fail(name, _unknown(name))
            try:
                values[name] = SETTINGS[name].check(value)
            except (ValueError, PlayalongError) as error:
                inner = _culprit(value, str(error))
                if isinstance(value, dict) and inner:
                    raise self.fail(f"{name}.{inner}", f"{name}: {error}") from None
                raise self.fail(name, f"{name}: {error}", inner) from None
        return values

    def flat(self) -> dict[str, Any]:
        """The settings as written, by dotted name; stages of one's own are read apart."""
        flat: dict[str, Any] = {}
        for name, value in self.source.data.items():
            if name in TABLES and isinstance(value, dict):
                flat |= {f"{name}.{last}": each for last, each in value.items()}
            elif name in TABLES:
                raise self.fail(name, f"{name} is a table; write [{name}] and its settings below")
            elif name != "stage":
                flat[name] = value
        return flat

    def own_stages(self) -> tuple[Stage, ...]:
        tables = self.source.data.get("stage", {})
        if not isinstance(tables, dict) or not all(isinstance(t, dict) for t in tables.values()):
            raise self.fail("stage", "a stage of your own is a table: [stage.NAME]")
        return tuple(self.own_stage(name, settings) for name, settings in tables.items())

    def own_stage(self, stage: str, settings: dict[str, Any]) -> Stage:
        values = {}
        if not re.fullmatch(r"\w[\w -]{0,39}", stage):
            message = (
                f'"{short(stage)}" cannot name a stage; letters, digits, spaces and hyphens can'
            )
            raise self.fail(f"stage.{stage}", message)
        if stage in STAGES:
            raise self.fail(f"stage.{stage}", f'"{stage}" is a built-in stage; take another name')
        for name, value in settings.items():
            dotted = f"stage.{stage}.{name}"
            if name not in STAGE_SETTINGS:
                hint = nearest(name, STAGE_SETTINGS)
                raise self.fail(
                    dotted, f'"{short(name)}" is not known here in [stage.{stage}]{hint}'
                )
            try:
                values[name] = STAGE_SETTINGS[name].check(value)
            except ValueError as error:
                raise self.fail(dotted, f"{name}: {error}", value) from None
        return Stage(stage, **{"guide": ("full",), **values})

    def strings(
        self, names: tuple[str, ...] | None, instrument: Instrument, pattern: Pattern
    ) -> tuple[str, ...]:
        if names is not None:
            check_strings(names, instrument, pattern)
            return tuple(name.upper() for name in names)
        fingered = any(symbol.finger is not None for symbol in pattern.symbols)
        if instrument.hand and fingered and not pattern.names_strings:
            names = instrument.string_names
            return (DEFAULT_STRING if DEFAULT_STRING in names else names[0],)
        return ()

    @staticmethod
    def tempo(values: dict[str, Any]) -> Tempo:
        written = table(values, "tempo")
        tempo = Tempo(written.get("start"), written.get("goal"), written.get("step", Tempo.step))
        check_climbs(tempo)
        return tempo

    @staticmethod
    def tuning(values: dict[str, Any]) -> Tuning:
        written = table(values, "tuning")
        return Tuning(
            written.get("a4", Tuning.a4_hz), written.get("temperament", Tuning.temperament)
        )


def table(values: dict[str, Any], name: str) -> dict[str, Any]:
    """The settings of one table, by their names in it."""
    prefix = name + "."
    return {
        dotted.removeprefix(prefix): value
        for dotted, value in values.items()
        if dotted.startswith(prefix)
    }


def _unknown(name: str) -> str:
    """What to say of a setting that is not in the tables, with the nearest that is."""
    outer, _, last = name.rpartition(".")
    known = [each.rpartition(".") for each in SETTINGS]
    homes = [start for start, _, end in known if end == last]
    within = [end for start, _, end in known if start == outer]
    where = f" in [{outer}]" if outer else ""
    if homes:
        hint = f"under [{homes[0]}]" if homes[0] else "above the first [table]"
        return f'"{short(last)}" is not known here{where}; it stands {hint}'
    names = within if outer else [*within, *TABLES, "stage"]
    return f'"{short(last)}" is not known here{where}{nearest(last, names)}'


def _culprit(value: object, message: str) -> object:
    """The one entry of a list or table that a message quotes, to find its line."""
    if isinstance(value, dict):
        quotes = {
            name: (f'"{short(name)}"', f"{name} = ", f'"{short(str(each))}"')
            for name, each in value.items()
        }
        return next((n for n, said in quotes.items() if any(s in message for s in said)), None)
    if isinstance(value, list):
        quoted = {each: f'"{short(each)}"' for each in value if isinstance(each, str)}
        texts = [each for each in quoted if quoted[each] in message]
        return min(texts, key=lambda each: message.index(quoted[each]), default=None)
    return None


assert {name for name in SETTINGS if "." not in name} - {"bar"} <= {f.name for f in fields(Drill)}
