"""Performance -> Standard MIDI File, type 1.

Every pitch is a key and a bend, with the bend range sent as RPN 0. Guide tones take two
channels in turn, so that a bend never drags the tail of the tone before.

The standard names no encoding for text (Standard MIDI Files 1.0 advises printable ASCII). All text
is ASCII but the title, which is UTF-8: it holds every title, most programs read it, and it is told
from Latin-1 by its form. A reader that takes it for Latin-1 shows other letters and loses nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

import mido

from playalong.music.key import Key
from playalong.music.meter import Meter
from playalong.performance.clock import Clock
from playalong.performance.performance import Click, Performance, Slide, Tone
from playalong.sound.bend import BEND_CENTRE, bend_value, key_and_bend, key_cents, least_range

CHARSET = "utf-8"
GUIDE_CHANNELS = (0, 1)
GHOST_CHANNELS = (2,)
DRONE_CHANNELS = (3, 4)
CLICK_CHANNEL = 9
STEMS = {  # which channels make which stem
    "guide": frozenset((*GUIDE_CHANNELS, *GHOST_CHANNELS)),
    "drone": frozenset(DRONE_CHANNELS),
    "click": frozenset((CLICK_CHANNEL,)),
}
GHOST_PROGRAM = 79
DRONE_PROGRAM = 20
VELOCITY = {"full": 96, "soft": 62}
# Laid over a held guide of its own pitch, in phase or against it, a ghost this soft colours the
# tone and moves its level by hardly a decibel.
GHOST_VELOCITY = {"full": 54, "soft": 35}
DRONE_VELOCITY = 96
CLICK_KEYS = {True: 76, False: 77}  # accent: high and low wood block
SWEEP_KEY = 75
CLICK_VELOCITY = {True: 100, False: 92}

LEVEL_BLOCKS = 4  # a slide's level moves every so many blocks

ATTACK_CC, RELEASE_CC, LEVEL_CC = 73, 72, 11
SPOKEN, JOINED_ATTACK, JOINED_RELEASE = 64, 0, 100
CHANNEL_SETTINGS = ((7, 100), (10, 64), (11, 127), (91, 0), (93, 0), (72, 64), (73, 64))

# Within one tick: what ends comes first, then what prepares, then what begins.
_END, _PREPARE, _BEGIN = range(3)


@dataclass
class _Track:
    """One track in the making: messages with their tick and their turn within it."""

    name: str
    events: list[tuple[int, int, mido.Message]] = field(default_factory=list)

    def add(self, tick: int, turn: int, kind: str, **values: int) -> None:
        # A slide has hundreds of messages, and mido's checks of them take longer than all else.
        self.events.append((tick, turn, mido.Message(kind, skip_checks=True, **values)))

    def meta(self, tick: int, kind: str, **values: object) -> None:
        self.events.append((tick, _PREPARE, mido.MetaMessage(kind, **values)))

    def finished(self, end: int) -> mido.MidiTrack:
        track = mido.MidiTrack([mido.MetaMessage("track_name", name=self.name)])
        at = 0
        for tick, _, message in sorted(self.events, key=lambda event: event[:2]):
            message.time = tick - at
            track.append(message)
            at = tick
        track.append(mido.MetaMessage("end_of_track", time=end - at))
        return track


def midi_file(performance: Performance) -> mido.MidiFile:
    """The whole track: conductor, guide, ghost, drone and click, each on a track of its own."""
    return _Writer(performance).file()


class _Writer:
    def __init__(self, performance: Performance) -> None:
        self.performance = performance
        self.clock: Clock = performance.clock
        self.range = least_range([*performance.guide, *performance.ghosts])

    def file(self) -> mido.MidiFile:
        end = self.clock.tick(self.performance.length)
        tracks = [self.conductor(), self.guide(), self.ghost(), self.drone(), self.click()]
        file = mido.MidiFile(type=1, ticks_per_beat=self.clock.ticks_per_quarter, charset=CHARSET)
        file.tracks.extend(track.finished(end) for track in tracks)
        return file

    def conductor(self) -> _Track:
        performance, clock = self.performance, self.clock
        score = performance.score
        track = _Track(score.drill.title)
        track.meta(0, "set_tempo", tempo=clock.microseconds)
        for at, meter, key in _signatures(performance):
            track.meta(
                clock.tick(at),
                "time_signature",
                numerator=meter.count,
                denominator=meter.unit,
                clocks_per_click=int(24 * meter.beat),
            )
            transposition = score.drill.instrument.in_key(key).transposition
            sounding = transposition.sounding_key(key)
            track.meta(clock.tick(at), "key_signature", key=_midi_key(sounding))
        for at, text in _markers(performance):
            track.meta(clock.tick(at), "marker", text=text)
        track.meta(clock.tick(performance.music_end), "marker", text="close")
        return track

    def guide(self) -> _Track:
        track = self.track("guide", GUIDE_CHANNELS, self.performance.score.drill.instrument.program)
        for number, tone in enumerate(self.performance.guide):
            channel = GUIDE_CHANNELS[number % len(GUIDE_CHANNELS)]
            self.tone(track, channel, tone, VELOCITY[tone.level])
        return track

    def ghost(self) -> _Track:
        track = self.track("ghost", GHOST_CHANNELS, GHOST_PROGRAM)
        for tone in self.performance.ghosts:
            self.tone(track, GHOST_CHANNELS[0], tone, GHOST_VELOCITY[tone.level])
        return track

    def drone(self) -> _Track:
        track = self.track("drone", DRONE_CHANNELS, DRONE_PROGRAM)
        for drone in self.performance.drones:
            for channel, pitch, hz in zip(DRONE_CHANNELS, drone.pitches, drone.hz, strict=False):
                tone = Tone(drone.start, drone.end, pitch, hz, "full")
                self.tone(track, channel, tone, DRONE_VELOCITY)
        return track

    def click(self) -> _Track:
        track = self.track("click", (), 0)
        clicks = self.performance.clicks
        length = self.performance.score.drill.meter.beat / 4
        for click in clicks:
            start, end = self.clock.tick(click.at), self.clock.tick(click.at + length)
            key = _click_key(click)
            velocity = CLICK_VELOCITY[click.accent]
            track.add(start, _BEGIN, "note_on", channel=CLICK_CHANNEL, note=key, velocity=velocity)
            track.add(end, _END, "note_off", channel=CLICK_CHANNEL, note=key)
        return track

    def track(self, name: str, channels: Sequence[int], program: int) -> _Track:
        """A track whose channels have their voice, settings and bend range."""
        track = _Track(name)
        for channel in channels:
            track.add(0, _END, "program_change", channel=channel, program=program)
            # RPN 0 in full: semitones in the MSB, LSB 0, then the null RPN.
            rpn = ((101, 0), (100, 0), (6, self.range), (38, 0), (101, 127), (100, 127))
            for control, value in (*CHANNEL_SETTINGS, *rpn):
                track.add(0, _END, "control_change", channel=channel, control=control, value=value)
        return track

    def tone(self, track: _Track, channel: int, tone: Tone, velocity: int) -> None:
        """One held sound: tuned before it begins, bent by its slides, let go at its end."""
        key, _ = key_and_bend(tone)
        start, end = self.clock.tick(tone.start), self.clock.tick(tone.end)
        attack = JOINED_ATTACK if tone.slurred else SPOKEN
        release = JOINED_RELEASE if tone.into_slur else SPOKEN
        self.control(track, start, _PREPARE, channel, ATTACK_CC, attack)
        self.control(track, start, _PREPARE, channel, LEVEL_CC, 127)
        self.bend(track, start, channel, tone.hz, key)
        track.add(start, _BEGIN, "note_on", channel=channel, note=key, velocity=velocity)
        for slide in tone.slides:
            self.slide(track, channel, slide, key)
        self.control(track, end, _END, channel, RELEASE_CC, release)
        track.add(end, _END, "note_off", channel=channel, note=key)

    def slide(self, track: _Track, channel: int, slide: Slide, key: int) -> None:
        """One bend a block, its value taken at the block's middle; the level every few blocks."""
        first, last = self.clock.block(slide.start), self.clock.block(slide.end)
        level = _level_value(0)
        for block in range(first, last):
            t = (block - first + 0.5) / (last - first)
            tick = self.clock.tick_of_block(block)
            self.bend(track, tick, channel, slide.glide.hz_at(t), key)
            if (block - first) % LEVEL_BLOCKS == 0:
                level = self.level(track, tick, channel, level, slide.level_db(t))
        end = self.clock.tick(slide.end)
        self.bend(track, end, channel, slide.glide.to_hz, key)
        self.level(track, end, channel, level, slide.level_db(1))

    def level(self, track: _Track, tick: int, channel: int, before: int, level_db: float) -> int:
        """Send a level where it is a new one, and return its controller value."""
        value = _level_value(level_db)
        if value != before:
            self.control(track, tick, _PREPARE, channel, LEVEL_CC, value)
        return value

    def bend(self, track: _Track, tick: int, channel: int, hz: float, key: int) -> None:
        value = bend_value(key_cents(hz, key), self.range)
        track.add(tick, _PREPARE, "pitchwheel", channel=channel, pitch=value - BEND_CENTRE)

    @staticmethod
    def control(
        track: _Track, tick: int, turn: int, channel: int, control: int, value: int
    ) -> None:
        track.add(tick, turn, "control_change", channel=channel, control=control, value=value)


def _signatures(performance: Performance) -> Iterator[tuple[Fraction, Meter, Key]]:
    """Meter and key at the beginning, and wherever one of them changes."""
    before = None
    for bar in performance.bars:
        if (bar.meter, bar.key) != before:
            yield bar.start, bar.meter, bar.key
        before = bar.meter, bar.key


def _markers(performance: Performance) -> Iterator[tuple[Fraction, str]]:
    """Start and name of every bar: of the count-in, the music, and the click between passes."""
    for place, bar in enumerate(performance.bars, 1):
        if not bar.pass_number:
            yield bar.start, f"count-in {place}"
        elif bar.number is None:
            yield bar.start, "gap"
        else:
            upbeat = "upbeat to " if bar.beat < 0 else ""
            yield bar.start, f"{upbeat}bar {bar.number}, pass {bar.pass_number}"


def _click_key(click: Click) -> int:
    return SWEEP_KEY if click.sweep else CLICK_KEYS[click.accent]


def _level_value(level_db: float) -> int:
    """Controller value of a level, by the GM2 curve of 40 log10(value / 127)."""
    return round(127 * 10 ** (level_db / 40))


def _midi_key(key: Key) -> str:
    """mido's name for a signature; MIDI knows no modes, so each is minor or major by its third."""
    major = ("Cb", "Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#")
    minor = ("Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#", "G#", "D#", "A#")
    return minor[key.signature + 7] + "m" if key.is_minor else major[key.signature + 7]
