"""Performance -> Timeline: quarters become the seconds of the blocks on which the sound acts."""

from __future__ import annotations

from collections.abc import Iterator

from playalong.instrument.shift import tenths
from playalong.music.temperament import cents
from playalong.performance.clock import block_seconds
from playalong.performance.performance import GhostNote, Performance, PlayedNote, Slide
from playalong.performance.timeline import (
    Timeline,
    TimelineBar,
    TimelineClick,
    TimelineDrone,
    TimelineNote,
    TimelineSlide,
)

CURVE_BLOCKS = 6  # a point every 8.7 ms


def timeline_of(performance: Performance) -> Timeline:
    """What sounds when in a performance, as data."""
    score, clock = performance.score, performance.clock
    return Timeline(
        title=score.drill.title,
        instrument=score.instrument.full_name,
        a4_hz=score.drill.tuning.a4_hz,
        temperament=score.drill.tuning.temperament,
        bpm=performance.bpm,
        meter=str(score.drill.meter),
        stage=performance.stage.name,
        key=score.key.name,
        string=score.string,
        seconds=_s(performance.seconds),
        tonic_hz=_hz(performance.tonic_hz),
        clicks=tuple(
            TimelineClick(_s(clock.seconds(each.at)), each.accent, each.count_in, each.sweep)
            for each in performance.clicks
        ),
        drone=tuple(
            TimelineDrone(
                _s(clock.seconds(drone.start)),
                _s(clock.seconds(drone.end)),
                tuple(_hz(hz) for hz in drone.hz),
            )
            for drone in performance.drones
        ),
        notes=tuple(_note(performance, note) for note in performance.notes),
        bars=tuple(_bars(performance)),
    )


def _note(performance: Performance, played: PlayedNote) -> TimelineNote:
    clock, note = performance.clock, played.note
    heard_from = played.heard_from
    return TimelineNote(
        _s(clock.seconds(played.start)),
        _s(clock.seconds(played.end)),
        _hz(note.hz),
        performance.score.instrument.as_written(note.pitch).name,
        note.finger,
        note.string,
        note.position_number,
        bar=0 if played.is_given else note.bar,
        pass_number=played.pass_number,
        beat=_beat(performance, played),
        sounds=played.sounds,
        role="note",
        onset=played.onset,
        cents_above_tonic=_cents(note.hz, performance),
        grace=note.is_grace,
        heard_from_seconds=None if heard_from is None else _s(clock.seconds(heard_from)),
        slide=_slide(performance, played.slide) if played.slide else None,
        ghost=_ghost(performance, played, played.ghost) if played.ghost else None,
    )


def _ghost(performance: Performance, played: PlayedNote, ghost: GhostNote) -> TimelineNote:
    clock, beat = performance.clock, performance.score.bar_of(played.note).meter.beat
    return TimelineNote(
        _s(clock.seconds(ghost.start)),
        _s(clock.seconds(ghost.end)),
        _hz(ghost.hz),
        performance.score.instrument.as_written(ghost.pitch).name,
        ghost.finger,
        ghost.string,
        ghost.position.number if ghost.position else None,
        bar=played.note.bar,
        pass_number=played.pass_number,
        beat=round(_beat(performance, played) + float((ghost.start - played.start) / beat), 6),
        sounds=ghost.sounds,
        role="ghost",
        onset=ghost.onset,
        cents_above_tonic=_cents(ghost.hz, performance),
    )


def _beat(performance: Performance, played: PlayedNote) -> float:
    meter = performance.score.drill.meter
    if played.is_given:
        return float(played.start % meter.bar / meter.beat)
    return round(float(played.note.beat - played.early), 6)


def _slide(performance: Performance, slide: Slide) -> TimelineSlide:
    clock, travel = performance.clock, slide.travel
    first, last = clock.block(slide.start), clock.block(slide.end)
    points = [*range(first, last, CURVE_BLOCKS), last] if last > first else []
    return TimelineSlide(
        _s(block_seconds(first)),
        _s(block_seconds(last)),
        travel.kind.value,
        travel.finger,
        travel.string,
        _hz(slide.glide.from_hz),
        _hz(slide.glide.to_hz),
        tenths(travel.travel_mm),
        slide.sounds,
        tuple(
            (_s(block_seconds(block)), _hz(slide.glide.hz_at((block - first) / (last - first))))
            for block in points
        ),
        tenths(travel.hand_travel_mm),
    )


def _bars(performance: Performance) -> Iterator[TimelineBar]:
    seconds = performance.clock.seconds
    for bar in performance.bars:
        beats = list(bar.within(bar.meter.beat))
        if beats[:1] != [bar.start]:  # an upbeat, in the middle of a beat
            beats.insert(0, bar.start)
        yield TimelineBar(
            _s(seconds(bar.start)),
            _s(seconds(bar.end)),
            bar.number,
            bar.pass_number,
            tuple(_s(seconds(beat)) for beat in beats),
            beat=round(float(bar.beat), 6),
        )


def _cents(hz: float, performance: Performance) -> float:
    return round(cents(hz, performance.tonic_hz), 3)


def _s(seconds: float) -> float:
    return round(seconds, 6)


def _hz(hz: float) -> float:
    return round(hz, 4)
