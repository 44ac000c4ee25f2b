"""Whether a drill's settings agree: bars and meter, fingers and hand, strings, bows and drone."""

from __future__ import annotations

from collections.abc import Sequence

from playalong.drill.hints import DOUBLE_STOP
from playalong.drill.model import DRONES, Drill, Tempo
from playalong.drill.origin import SettingError
from playalong.drill.pattern import Pattern, Symbol
from playalong.drill.rhythm import check_bars, event_lengths
from playalong.drill.stage import STAGES, Stage
from playalong.errors import PlayalongError, nearest, short
from playalong.instrument.catalogue import with_hands
from playalong.instrument.instruments import Instrument
from playalong.instrument.position import finger_words
from playalong.music.pitch import Pitch

DRONE_KEYS = (16, 108)  # MIDI keys from E0, 20.6 Hz, to C8


def check_drill(drill: Drill) -> None:
    """DrillError for what is wrong with the bars, SettingError for what no single setting shows."""
    check_changes(drill.pattern)
    check_upbeat(drill)
    lengths = event_lengths(drill.pattern, drill.note, drill.rhythm)
    check_bars(drill.pattern, lengths, drill.bars, drill.note)
    check_ties(drill.pattern)
    check_graces(drill.pattern)
    check_events(drill.pattern, drill.instrument)
    for name, span in (("bow", drill.bow), ("click.every", drill.click.every)):
        try:
            for meter in dict.fromkeys(bar.meter for bar in drill.bars):
                meter.span(span)
        except ValueError as error:
            raise SettingError(name, str(error)) from None
    check_drone(drill)


def check_upbeat(drill: Drill) -> None:
    """SettingError for an upbeat with no bar after it, or as long as a bar."""
    if drill.upbeat and len(drill.pattern.bars) < 2:
        message = "an upbeat leads into a bar; write | after it, and the bar"
        raise SettingError("upbeat", message)
    shortest = min(bar.meter.bar for bar in (drill.bars[0], drill.bars[-1]))
    if drill.upbeat_length >= shortest:
        longest = shortest / drill.note
        message = f'"{drill.upbeat}" is no part of a bar, which has {longest} plain notes'
        raise SettingError("upbeat", message)


def check_changes(pattern: Pattern) -> None:
    """DrillError for a change of meter or key that stands at no bar line of the pattern."""
    for change in pattern.changes:
        if not 0 < change.place < len(pattern.bars):
            message = f"a meter or key changes at a bar line, not at place {change.place}"
            raise change.origin.error(message)


def check_ties(pattern: Pattern) -> None:
    """DrillError for a tie with no note before it, or one in another bow than its note."""
    sounding, slur = False, None
    for event in pattern.events:
        text = event.origin.text
        if event.tied and not sounding:
            message = "no note before it could go on; write r for a rest"
            raise event.origin.error(f'"{text}": {message}')
        if event.tied and None not in (slur, event.slur) and slur != event.slur:
            message = "its note goes on in the bow that it began with; close that bow after it"
            raise event.origin.error(f'"{text}": {message}')
        sounding = sounding if event.tied else bool(event.symbols)
        slur = event.slur if event.slur is not None or not event.tied else slur


def check_graces(pattern: Pattern) -> None:
    """DrillError for a grace note that leads to no note of its bar."""
    for bar in pattern.bars:
        for event, after in zip(bar, (*bar[1:], None), strict=True):
            if event.grace and (after is None or not after.symbols):
                message = "a grace note leads to a note in its own bar; write that one after it"
                raise event.origin.error(f'"{event.origin.text}": {message}')


def check_events(pattern: Pattern, instrument: Instrument) -> None:
    """DrillError for the first note that this instrument could not take."""
    for event in pattern.events:
        if len(event.symbols) > 1:
            raise event.origin.error(f'"{event.origin.text}": {DOUBLE_STOP}')
        for symbol in event.symbols:
            _check_string(symbol, instrument)
            if message := _finger_fault(symbol, instrument, pattern.names_strings):
                raise symbol.origin.error(f'"{symbol.origin.text}": {message}')


def _check_string(symbol: Symbol, instrument: Instrument) -> None:
    name, strings = symbol.string, instrument.string_names
    if not name or name in strings:
        return
    if not strings:
        message = f'"{name}:": no strings are known for {instrument.name}; leave it out'
    else:
        message = f'"{name}:" is not a string of the {instrument.name}; its strings are '
        message += ", ".join(strings)
    raise symbol.origin.error(message)


def _finger_fault(symbol: Symbol, instrument: Instrument, names_strings: bool) -> str | None:
    """What is wrong with the finger of a note; None for one that the hand has."""
    hand = instrument.hand
    if not symbol.is_pitch and hand is None:
        *first, last = with_hands()
        players = f"{', '.join(first)} and {last}"
        return f"fingers are for {players}; for {instrument.name} write pitches, like C4"
    if symbol.finger is not None and names_strings and not symbol.string:
        return (
            "on which string? The bar names strings, so write one before its first note, like "
            f'"{instrument.string_names[0]}:"'
        )
    if symbol.touched and not (hand and symbol.finger):
        return "a harmonic is touched by a finger on a bowed string; write it like A4o=3"
    if hand and symbol.extended and not hand.extending:
        return f"no finger of the {instrument.name} reaches beyond its place; write a position"
    if hand and symbol.extended and symbol.finger and symbol.finger not in hand.extending:
        able = [f"{finger}x" for finger in hand.extending]
        able = [*able[:-2], " and ".join(able[-2:])]
        return f"{finger_words(symbol.finger)} does not reach; only {', '.join(able)} do"
    return None


def check_strings(names: tuple[str, ...], instrument: Instrument, pattern: Pattern) -> None:
    """SettingError unless a drill may be set on each of these strings."""
    if pattern.names_strings:
        message = "the bar names its strings itself (D:), so leave this out"
        raise SettingError("strings", message)
    for name in names:
        try:
            instrument.string(name.upper())
        except PlayalongError as error:
            raise SettingError("strings", str(error), name) from None


def find_stages(names: Sequence[str], own: Sequence[Stage]) -> tuple[Stage, ...]:
    """Stages by name, built in or a drill's own. SettingError offers the nearest."""
    known = STAGES | {stage.name: stage for stage in own}
    for name in names:
        if name not in known:
            raise SettingError(
                "stages", f'"{short(name)}" is not a stage{nearest(name, known)}', name
            )
    return tuple(known[name] for name in names)


def check_climbs(tempo: Tempo) -> None:
    """SettingError where a ladder would go down."""
    if tempo.goal < tempo.start:
        message = f"{tempo.goal} lies below the start, {tempo.start}; the ladder climbs"
        raise SettingError("tempo.goal", message)


def check_drone(drill: Drill) -> None:
    """SettingError unless the drone, moved by its octave, can be heard in every key.

    A drone that follows the key is on its tonic.
    """
    if drill.drone.follow and drill.drone.on not in ("tonic", "tonic and fifth"):
        message = f'the drone is "{drill.drone.on}", which no key moves; leave one of the two out'
        raise SettingError("drone.follow", message)
    for tone in _drone_tones(drill):
        moved = tone.octaves_up(drill.drone.octave)
        if not DRONE_KEYS[0] <= moved.key_number <= DRONE_KEYS[1]:
            side = "low" if moved.key_number < DRONE_KEYS[0] else "high"
            setting = "drone.octave" if drill.drone.octave else "drone.on"
            raise SettingError(setting, f"the drone would sound {moved}, too {side} to hear")


def _drone_tones(drill: Drill) -> tuple[Pitch, ...]:
    """What the drone sounds in every key, before its octave moves it."""
    on, instrument = drill.drone.on, drill.instrument
    if on == "off":
        return ()
    if on.startswith("open "):
        try:
            return (instrument.string(on.removeprefix("open ")),)
        except PlayalongError as error:
            raise SettingError("drone.on", str(error)) from None
    if on not in DRONES:
        return (instrument.as_sounding(Pitch.of(on)),)
    changes = (bar.key for bar in drill.bars if bar.key and drill.drone.follow)
    keys = (instrument.transposition.sounding_key(key) for key in (*drill.keys, *changes))
    return tuple(key.tonic_at_or_above(instrument.lowest) for key in keys)
