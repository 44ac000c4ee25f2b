"""From a drill file to a Drill: the schema's checks, the defaults, and what must agree."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import fields
from pathlib import Path
from typing import Any

from playalong.drill.errors import DrillError, NotationError
from playalong.drill.model import Click, Drill, Drone, Session, Slide, Tempo
from playalong.drill.notation import Pattern, parse_bars
from playalong.drill.rhythm import check_bars, token_lengths
from playalong.drill.schema import REQUIRED, SETTINGS, STAGE_SETTINGS, TABLES
from playalong.drill.source import Source
from playalong.drill.stage import STAGES, Stage
from playalong.drill.validation import check_drone, check_tokens
from playalong.errors import PlayalongError, nearest
from playalong.instrument.instruments import Instrument
from playalong.music.key import parse_key
from playalong.music.temperament import Tuning

DEFAULT_KEY = "C major"
DEFAULT_STRING = "D"
ONE_AT_A_TIME = {"keys": "key", "strings": "string", "stages": "stage"}  # their options


def load_drill(path: Path | str, overrides: Mapping[str, Any] | None = None) -> Drill:
    """Read a drill file. `overrides` replace settings by dotted name, as the command line does.

    Raises DrillError with file, line, the words at fault and the nearest right thing.
    """
    return make_drill(Source.read(Path(path)), overrides or {})


def parse_drill(text: str, name: str = "drill.toml") -> Drill:
    """A drill from text, for tests and notebooks."""
    return make_drill(Source.parse(text.encode(), name), {})


def make_drill(source: Source, overrides: Mapping[str, Any]) -> Drill:
    """A checked Drill from what was read; raises DrillError."""
    return _Loader(source, overrides).drill()


class _Loader:
    """One file on its way to a Drill; every complaint knows its line."""

    def __init__(self, source: Source, overrides: Mapping[str, Any]) -> None:
        self.source, self.overrides = source, overrides

    def fail(self, name: str, message: str, value: object = None) -> DrillError:
        if name in self.overrides:
            last = name.rpartition(".")[2]
            message = message.removeprefix(f"{name}: ")  # the option names it already
            return DrillError("--" + ONE_AT_A_TIME.get(last, last), None, message)
        return DrillError(self.source.file, self.source.line_of(name, value), message)

    def fail_at(self, error: NotationError) -> DrillError:
        if "bar" in self.overrides:
            return self.fail("bar", error.message)
        line = self.source.line_in_text("bar", error.offset)
        return DrillError(self.source.file, line, error.message)

    def drill(self) -> Drill:
        own_stages = self.own_stages()
        values = self.values()
        for name in REQUIRED:
            if name not in values:
                message = f"{name} is missing; a drill needs {', '.join(REQUIRED)}"
                raise DrillError(self.source.file, None, message)
        pattern = self.pattern(values.pop("bar"))
        instrument = values["instrument"]
        values["stages"] = self.stages(values.get("stages"), own_stages)
        values["strings"] = self.strings(values.get("strings"), instrument, pattern)
        values.setdefault("keys", (parse_key(DEFAULT_KEY),))
        flat = {name: value for name, value in values.items() if "." not in name}
        drill = Drill(
            pattern=pattern,
            tempo=self.tempo(values),
            tuning=self.tuning(values),
            drone=Drone(**self.table(values, "drone")),
            click=Click(**self.table(values, "click")),
            slide=Slide(**self.table(values, "slide")),
            session=Session(**self.table(values, "session")),
            file=self.source.file,
            bar_lines=self.bar_lines(pattern),
            sha256=self.source.sha256,
            **flat,
        )
        self.check(drill)
        return drill

    def values(self) -> dict[str, Any]:
        """Every setting that is written, by dotted name, checked one by one."""
        values = {}
        for name, value in {**self.flat(), **self.overrides}.items():
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
        flat: dict[str, Any] = {}
        for name, value in self.source.data.items():
            if name in TABLES and isinstance(value, dict):
                flat |= {f"{name}.{last}": each for last, each in value.items()}
            elif name in TABLES:
                raise self.fail(name, f"{name} is a table; write [{name}] and its settings below")
            elif name != "stage":
                flat[name] = value
        return flat

    def own_stages(self) -> dict[str, Stage]:
        tables = self.source.data.get("stage", {})
        if not isinstance(tables, dict) or not all(isinstance(t, dict) for t in tables.values()):
            raise self.fail("stage", "a stage of your own is a table: [stage.NAME]")
        return {name: self.own_stage(name, table) for name, table in tables.items()}

    def own_stage(self, stage: str, table: dict[str, Any]) -> Stage:
        values = {}
        if not re.fullmatch(r"\w[\w -]{0,39}", stage):
            message = f'"{stage}" cannot name a stage; letters, digits, spaces and hyphens can'
            raise self.fail(f"stage.{stage}", message)
        if stage in STAGES:
            raise self.fail(f"stage.{stage}", f'"{stage}" is a built-in stage; take another name')
        for name, value in table.items():
            dotted = f"stage.{stage}.{name}"
            if name not in STAGE_SETTINGS:
                hint = nearest(name, STAGE_SETTINGS)
                raise self.fail(dotted, f'"{name}" is not known here in [stage.{stage}]{hint}')
            try:
                values[name] = STAGE_SETTINGS[name].check(value)
            except ValueError as error:
                raise self.fail(dotted, f"{name}: {error}", value) from None
        return Stage(stage, **{"guide": ("full",), **values})

    def stages(self, names: tuple[str, ...] | None, own: dict[str, Stage]) -> tuple[Stage, ...]:
        known = STAGES | own
        if names is None:
            return tuple(known.values()) if own else tuple(STAGES.values())
        for name in names:
            if name not in known:
                message = f'stages: "{name}" is not a stage{nearest(name, known)}'
                raise self.fail("stages", message, name)
        return tuple(known[name] for name in names)

    def pattern(self, text: str) -> Pattern:
        try:
            return parse_bars(text)
        except NotationError as error:
            raise self.fail_at(error) from None

    def bar_lines(self, pattern: Pattern) -> tuple[int, ...]:
        lines = (self.source.line_in_text("bar", token.offset) for token in pattern.tokens)
        return tuple(line or 1 for line in lines)

    def strings(
        self, names: tuple[str, ...] | None, instrument: Instrument, pattern: Pattern
    ) -> tuple[str, ...]:
        if names is not None and pattern.names_strings:
            message = "strings: the bar names its strings itself (D:), so leave this out"
            raise self.fail("strings", message)
        if names is None:
            return (DEFAULT_STRING,) if self.takes_default_string(instrument, pattern) else ()
        for name in names:
            try:
                instrument.string(name.upper())
            except PlayalongError as error:
                raise self.fail("strings", f"strings: {error}", name) from None
        return tuple(name.upper() for name in names)

    @staticmethod
    def takes_default_string(instrument: Instrument, pattern: Pattern) -> bool:
        fingered = any(token.finger is not None for token in pattern.tokens)
        return instrument.has_hand and fingered and not pattern.names_strings

    def tempo(self, values: dict[str, Any]) -> Tempo:
        written = self.table(values, "tempo")
        start = written.get("start", min(Tempo.start, written.get("goal", Tempo.start)))
        tempo = Tempo(start, written.get("goal", start), written.get("step", Tempo.step))
        if tempo.goal < tempo.start:
            message = (
                f"tempo.goal: {tempo.goal} lies below the start, {tempo.start}; the ladder climbs"
            )
            raise self.fail("tempo.goal", message)
        return tempo

    def tuning(self, values: dict[str, Any]) -> Tuning:
        table = self.table(values, "tuning")
        return Tuning(table.get("a4", Tuning.a4_hz), table.get("temperament", Tuning.temperament))

    @staticmethod
    def table(values: dict[str, Any], name: str) -> dict[str, Any]:
        prefix = name + "."
        return {
            dotted.removeprefix(prefix): value
            for dotted, value in values.items()
            if dotted.startswith(prefix)
        }

    def check(self, drill: Drill) -> None:
        """What no single setting shows: that bar, meter, strings and bows agree."""
        try:
            lengths = token_lengths(drill.pattern, drill.note, drill.rhythm)
            check_bars(drill.pattern, lengths, drill.meter, drill.note)
            check_tokens(drill.pattern, drill.instrument)
        except NotationError as error:
            raise self.fail_at(error) from None
        if "bow" in {**self.source.data, **self.overrides} and drill.pattern.has_slurs:
            raise self.fail("bow", "bow: the bar has slurs ( ) already; leave one of the two out")
        for name, span in (("bow", drill.bow), ("click.every", drill.click.every)):
            try:
                drill.meter.span(span)
            except ValueError as error:
                raise self.fail(name, f"{name}: {error}") from None
        if drill.drone.on.startswith("open "):
            try:
                drill.instrument.string(drill.drone.on.removeprefix("open "))
            except PlayalongError as error:
                raise self.fail("drone.on", f"drone.on: {error}") from None
        try:
            check_drone(drill)
        except PlayalongError as error:
            name = "drone.octave" if drill.drone.octave else "drone.on"
            raise self.fail(name, f"{name}: {error}") from None


def _unknown(name: str) -> str:
    """What to say of a setting that is not in the tables, with the nearest that is."""
    table, _, last = name.rpartition(".")
    known = [each.rpartition(".") for each in SETTINGS]
    homes = [start for start, _, end in known if end == last]
    within = [end for start, _, end in known if start == table]
    where = f" in [{table}]" if table else ""
    if homes:
        hint = f"under [{homes[0]}]" if homes[0] else "above the first [table]"
        return f'"{last}" is not known here{where}; it stands {hint}'
    names = within if table else [*within, *TABLES, "stage"]
    return f'"{last}" is not known here{where}{nearest(last, names)}'


def _culprit(value: object, message: str) -> object:
    """The one entry of a list or table that a message quotes, to find its line."""
    if isinstance(value, dict):
        quotes = {name: (f'"{name}"', f"{name} = ", f'"{each}"') for name, each in value.items()}
        return next((n for n, said in quotes.items() if any(s in message for s in said)), None)
    if isinstance(value, list):
        texts = [each for each in value if isinstance(each, str) and f'"{each}"' in message]
        return min(texts, key=lambda each: message.index(f'"{each}"'), default=None)
    return None


assert {name for name in SETTINGS if "." not in name} - {"bar"} <= {f.name for f in fields(Drill)}
