"""What was heard against what was played: the figures of a set of takes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from played import Take

from playalong.take.model import OUTSIDE, Heard, HeardNote

SAME_NOTE_CENTS = 50  # further away it is another note
FAR_MS = 30  # from when it began


def told(heard: Heard) -> dict[int, HeardNote]:
    return {note.index: note for note in heard.notes}


def off_cents(take: Take, heard: Heard) -> list[float]:
    """Of every note that was played and judged, how far what is told is from what was played."""
    notes = told(heard)
    return [
        abs(notes[index].cents - truth.cents)
        for index, truth in take.notes.items()
        if truth.played and notes[index].judged
    ]


@dataclass
class Score:
    """Sums over the takes of one condition."""

    played: int = 0
    judged: int = 0
    near: int = 0
    near_lost: int = 0
    false: int = 0
    never_played: int = 0
    missing_told: int = 0
    missing_right: int = 0
    wrong: int = 0
    wrong_told: int = 0
    wrong_right: int = 0
    off: list[float] = field(default_factory=list)
    within_spread: list[bool] = field(default_factory=list)
    fresh_ms: list[float] = field(default_factory=list)
    slurred_ms: list[float] = field(default_factory=list)
    arrival_ms: list[float] = field(default_factory=list)
    shifts: int = 0
    overshoot: list[tuple[float, float]] = field(default_factory=list)
    vibrato: list[float] = field(default_factory=list)
    offset_ms: list[float] = field(default_factory=list)
    ppm: list[float] = field(default_factory=list)
    lost: list[str] = field(default_factory=list)

    def add(self, result: Mapping[str, Any], take: Take, name: str) -> None:
        """What lies outside the recording is not asked for."""
        told = {note["index"]: note for note in result["notes"]}
        for index, truth in take.notes.items():
            note = told[index]
            if note["verdict"] == OUTSIDE:
                continue
            if not truth.played:
                self.never_played += 1
                self.false += note["judged"]
                self.missing_right += not note["heard"]
                self.missing_told += not note["heard"]
                if note["judged"]:
                    self.lost.append(f"{name} {index} false {note['cents']}")
                continue
            self.played += 1
            self.missing_told += not note["heard"]
            self.judged += note["judged"]
            near = abs(truth.cents) <= 2
            self.near += near
            self.near_lost += near and not note["heard"]
            if not note["judged"]:
                self.lost.append(f"{name} {index} not judged, played {truth.cents:.1f}")
                continue
            another, tells = (
                abs(truth.cents) > SAME_NOTE_CENTS,
                abs(note["cents"]) > SAME_NOTE_CENTS,
            )
            self.wrong += another
            self.wrong_told += tells
            self.wrong_right += another and tells
            off = abs(note["cents"] - truth.cents)
            self.off.append(off)
            if off > 3:
                self.lost.append(f"{name} {index} off {note['cents'] - truth.cents:+.1f}")
            self.within_spread.append(off <= 2 * note["spread_cents"])
            if note["onset_ms"] is not None and (truth.fresh or truth.has_moment):
                late = note["onset_ms"] - truth.onset_ms
                (self.fresh_ms if truth.fresh else self.slurred_ms).append(late)
                if abs(late) > FAR_MS:
                    kind = "fresh" if truth.fresh else "slurred"
                    self.lost.append(f"{name} {index} {kind} told {late:+.0f} ms late")
            if truth.vibrato_cents:
                self.vibrato.append(abs(note["vibrato_cents"] - truth.vibrato_cents))
        shifts = {shift["into"]: shift for shift in result["shifts"]}
        for index, truth in take.notes.items():
            if truth.arrival_ms is None:
                continue
            self.shifts += 1
            if index not in shifts:
                continue
            late = shifts[index]["arrival_ms"] - truth.arrival_ms
            self.arrival_ms.append(abs(late))
            if abs(late) > FAR_MS:
                self.lost.append(f"{name} {index} arrival told {late:+.0f} ms late")
            if truth.overshoot_cents is not None and shifts[index]["overshoot_cents"] is not None:
                self.overshoot.append((shifts[index]["overshoot_cents"], truth.overshoot_cents))
        align = result["align"]
        if align.get("how") != "playing":
            self.offset_ms.append(1000 * abs(align["offset_seconds"] - take.offset_seconds))
        if align["ppm"] is not None:
            self.ppm.append(abs(align["ppm"] - take.ppm))

    def row(self) -> str:
        off = np.array(self.off or [np.nan])
        over = np.array(self.overshoot or [(np.nan, np.nan)])
        clear = np.abs(over[:, 1]) > 5
        signs = np.mean(np.sign(over[clear, 0]) == np.sign(over[clear, 1])) if clear.any() else 1
        return (
            f"{self.played:5d} {100 * self.judged / max(self.played, 1):6.1f}"
            f" {100 * np.mean(off <= 1):5.0f} {100 * np.mean(off <= 3):5.0f}"
            f" {np.median(off):6.2f} {off.max():7.1f}"
            f" {100 * np.mean(self.within_spread or [1]):5.0f}"
            f" | {self.near_lost:2d}/{self.near:3d} {self.false:2d}/{self.never_played:3d}"
            f" miss {self.missing_right}/{self.missing_told}"
            f" wrong {self.wrong_right}/{self.wrong_told}/{self.wrong}"
            f" | {_median(self.fresh_ms):6.1f} {_median(self.slurred_ms):5.1f}"
            f" | {len(self.arrival_ms):3d}/{self.shifts:3d} {_median(self.arrival_ms):5.1f}"
            f" {np.nanmedian(np.abs(over[:, 0] - over[:, 1])):5.1f} {100 * signs:4.0f}"
            f" | {_median(self.vibrato):4.1f} | {_median(self.offset_ms):6.3f}"
            f" {max(self.offset_ms or [np.nan]):7.3f} {max(self.ppm or [np.nan]):5.2f}"
        )


HEADINGS = (
    "condition               notes judged  <=1c <=3c median   worst <2sp"
    " | near lost, false, missing right/told, wrong right/told/all"
    " | fresh slur ms | shifts ms over sign | vib | offset worst ppm"
)


def _median(values: list[float]) -> float:
    return float(np.median(values)) if values else float("nan")
