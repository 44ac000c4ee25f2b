"""Which tracks were played in a recording, and where: by sweeps, leak and notes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from playalong.errors import PlayalongError, reason
from playalong.folder.manifest import Manifest, TrackEntry
from playalong.folder.names import MANIFEST_FILE, TIMELINE
from playalong.performance.clock import SAMPLE_RATE_HZ
from playalong.performance.timeline import Timeline, TimelineNote
from playalong.take.clock import OnTrackClock, spectra
from playalong.take.doubt import TakeError
from playalong.take.holds import held
from playalong.take.listen import place_by_playing
from playalong.take.recording import InMemory, Samples, Sounds, opened
from playalong.take.spectra import window_frames
from playalong.take.stage import (
    LOOKED_AT_SECONDS,
    WINDOW,
    heard_stage,
    softest,
    standing_out,
    whitened,
)
from playalong.take.sweeps import (
    HEAD_SECONDS,
    Peaks,
    Placed,
    find_peaks,
    last_whole,
    starts,
    sweep_times,
)

OVERLAP_SECONDS = 2.0
LOOKED_AT_NOTES = 8
THERE = 0.5  # share of them that is heard where a track was played
PART_SECONDS = 1.5  # of which spectra are in memory
NEAR_LAG = 220  # frames
CLEAR = 1.15  # how much better than the next a track must fit to be taken without a question
MOST_HOURS_BY_NOTES = 200.0  # of recording, times the tracks that it is laid against
SURE = ("playing", "count-in", "close", "both")  # by how many sweeps
MOST_SECONDS = 3600.0  # of one track


@dataclass(frozen=True)
class Track:
    """A track of a folder that `make` filled."""

    out: Path
    entry: TrackEntry

    @property
    def audio(self) -> Path:
        return self.out / self.entry.audio

    @property
    def name(self) -> str:
        """`F-major/D/01-060-listen`."""
        return self.entry.audio.rsplit(".", 1)[0]

    @cached_property
    def timeline(self) -> Timeline:
        path = self.out / self.entry.timeline
        try:
            return Timeline.from_json(path.read_text(encoding="utf-8"))
        except (OSError, UnicodeDecodeError) as error:
            why = reason(error) if isinstance(error, OSError) else "it is no text"
            raise TakeError(f"cannot read {path}: {why}; make the folder again") from None

    @cached_property
    def has_check(self) -> bool:
        """Whether its folder has a check track of the same key and string."""
        return any(
            (each.stage, each.key, each.string) == ("check", self.entry.key, self.entry.string)
            for each in Manifest.read(self.out).tracks
        )

    def read_sound(self, seconds: float = MOST_SECONDS) -> Samples:
        """Its beginning, or the whole: mono, at 44.1 kHz. Not kept, a folder may hold hours."""
        with opened(self.audio) as file:
            clock = OnTrackClock(file, Placed(0.0, None, "both", 0.0))
            frames = round(min(seconds, clock.to_seconds) * SAMPLE_RATE_HZ)
            return (file if file.rate_hz == SAMPLE_RATE_HZ else clock).read(0, frames)


@dataclass(frozen=True)
class Piece:
    """A track in a recording."""

    track: Track
    placed: Placed
    rivals: tuple[str, ...] = ()  # tracks that fit nearly as well
    is_sure_of_stage: bool = True  # else another stage of the same notes may have been played to


def tracks_of(path: Path) -> list[Track]:
    """The tracks of a folder, or the one that an audio file or timeline in it belongs to."""
    if path.is_dir():
        return [Track(path, entry) for entry in Manifest.read(path).tracks]
    if not path.exists():
        raise TakeError(f"there is no track or folder {path}")
    out = folder_of(path)
    if out is None:
        raise TakeError(
            f"{path} lies in no folder that playalong make filled; name a track in such a folder"
        )
    name = path.resolve().relative_to(out.resolve()).as_posix()
    found = [
        Track(out, entry)
        for entry in Manifest.read(out).tracks
        if name in (entry.audio, entry.timeline, entry.midi, *entry.stems.values())
    ]
    if not found:
        raise TakeError(f"{path} is no track of {out}; name its audio or its {TIMELINE}")
    return found


def folder_of(path: Path) -> Path | None:
    """The nearest folder above a file that holds a manifest."""
    return next((each for each in path.resolve().parents if (each / MANIFEST_FILE).is_file()), None)


def find(recording: Sounds, tracks: Sequence[Track], name: str) -> list[Piece]:
    """The tracks that were played in a recording, in order of time."""
    if not tracks:
        raise TakeError("this folder has no track")
    peaks = find_peaks(recording, tracks[0].read_sound(HEAD_SECONDS))
    if len(tracks) == 1:
        placed = last_whole(starts(peaks, tracks[0].timeline))
        if placed is None:
            (placed,) = place_by_playing(recording, peaks, [tracks[0].timeline])
        return [Piece(tracks[0], placed)]
    tracks = _named(tracks, name)
    pieces = [_which(recording, placed, each) for placed, each in _apart(peaks, tracks)]
    return pieces or [_by_notes(recording, peaks, tracks, name)]


def _named(tracks: Sequence[Track], name: str) -> Sequence[Track]:
    """Those whose name is part of the recording's, if there are any."""
    flat = name.replace("/", "-").replace("_", "-").casefold()
    whole = [each for each in tracks if each.name.replace("/", "-").casefold() in flat]
    short = [each for each in tracks if each.name.rsplit("/", 1)[-1].casefold() in flat]
    return whole or short or tracks


def _apart(peaks: Peaks, tracks: Iterable[Track]) -> list[tuple[Placed, list[Track]]]:
    """Places that do not overlap, each with the tracks whose sweeps are those."""
    patterns: dict[tuple[float, ...], list[Track]] = defaultdict(list)
    for track in tracks:
        first, last = sweep_times(track.timeline)
        patterns[(*first, *last)].append(track)
    found = [
        (placed, each) for each in patterns.values() for placed in starts(peaks, each[0].timeline)
    ]
    found.sort(key=lambda one: (one[0].how != "both", -one[0].strength))
    kept: list[tuple[Placed, list[Track]]] = []
    for placed, each in found:
        begin, end = _span(placed, each[0])
        same = [one for one in kept if abs(one[0].offset_seconds - begin) < 0.1]
        if same and same[0][0].how == placed.how == "count-in":
            same[0][1].extend(each)  # where the end was not heard, the length is not known
        elif all(
            end - OVERLAP_SECONDS < start or begin + OVERLAP_SECONDS > stop
            for start, stop in (_span(one, others[0]) for one, others in kept)
        ):
            kept.append((placed, list(each)))
    return sorted(kept, key=lambda one: one[0].offset_seconds)


def _span(placed: Placed, track: Track) -> tuple[float, float]:
    return placed.offset_seconds, placed.offset_seconds + track.timeline.seconds


def _which(recording: Sounds, placed: Placed, tracks: Sequence[Track]) -> Piece:
    """Of tracks with the same sweeps, the one whose notes and whose own sound are there."""
    if len(tracks) == 1:
        return Piece(tracks[0], placed)
    sound = OnTrackClock(recording, placed)
    known: dict[tuple[float, ...], float] = {}  # stages ask for the same notes
    shares = []
    for each in tracks:
        notes = _notes(each)
        asked = tuple(value for note in notes for value in (note.from_seconds, note.hz))
        if asked not in known:
            known[asked] = _notes_there(sound, notes)
        shares.append(known[asked])
    near = [each for each, share in zip(tracks, shares, strict=True) if share >= 0.8 * max(shares)]
    rivals: list[str] = []
    track = near[0]
    if any(_asked(each) != _asked(track) for each in near):
        track, rivals = _clearest(sound, near)
    kept = [each for each in near if each.name in rivals and _asked(each) != _asked(track)]
    stages = [each for each in near if _asked(each) == _asked(track)]
    number = heard_stage(sound, stages) if len(stages) > 1 else 0
    found = softest(stages) if number is None else stages[number]
    return Piece(found, placed, tuple(each.name for each in kept), number is not None)


def _clearest(sound: OnTrackClock, tracks: Sequence[Track]) -> tuple[Track, list[str]]:
    """The track whose own sound is heard most clearly, and those that come near it."""
    loudest_first = _leaks(sound, tracks)
    clear, track = next(
        (clear, track)
        for number, (clear, track) in enumerate(loudest_first, 1)  # the last one has no quieter
        if clear >= CLEAR * max((each for each, _ in loudest_first[number:]), default=0.0)
    )
    return track, [
        other.name
        for other_clear, other in loudest_first
        if other is not track and other_clear * CLEAR > clear
    ]


def _notes(track: Track) -> list[TimelineNote]:
    """The first ones to be played."""
    return [note for note in track.timeline.notes if not note.is_given][:LOOKED_AT_NOTES]


def _notes_there(sound: OnTrackClock, notes: Sequence[TimelineNote]) -> float:
    """The share of notes that are heard about where they are due."""
    window = window_frames(min(note.hz for note in notes))
    near = 0
    for note in notes:
        seen = spectra(sound, note.from_seconds, note.to_seconds, window)
        hold = held(seen, note.hz, note.from_seconds, note.to_seconds)
        near += hold is not None and abs(hold.cents) < 50
    return near / len(notes)


def _leaks(sound: OnTrackClock, tracks: Sequence[Track]) -> list[tuple[float, Track]]:
    """How clearly each track's own sound is there where the tracks differ; the loudest first.

    Cross-correlation after whitening (generalized, with phase transform; Knapp and Carter 1976):
    its peak near no lag against all other lags. What the player adds has no lag of its own.
    """
    start = min(note.from_seconds for each in tracks for note in each.timeline.notes)
    begins = start + np.arange(0, LOOKED_AT_SECONDS, PART_SECONDS)
    known = [
        InMemory(each.read_sound(start + LOOKED_AT_SECONDS + 1), SAMPLE_RATE_HZ) for each in tracks
    ]
    sizes = np.concatenate(
        [[np.abs(_part(own, at)).sum(1) for own in known] for at in begins], axis=1
    )
    differ = np.ptp(sizes, axis=0) > 0.1 * sizes.max()
    if not differ.any():
        return [(1.0, each) for each in tracks]
    across = np.zeros((len(tracks), WINDOW // 2 + 1), complex)
    for at, rows in zip(begins, np.split(differ, len(begins)), strict=True):
        heard = whitened(_part(sound, at)[rows])
        for number, own in enumerate(known):
            across[number] += (heard * np.conj(whitened(_part(own, at)[rows]))).sum(0)
    clear = []
    for number in np.argsort(-sizes[:, differ].sum(1)):
        clear.append((standing_out(across[number], NEAR_LAG, NEAR_LAG), tracks[number]))
    return clear


def _part(sound: OnTrackClock | InMemory, at: float) -> NDArray[np.complex64]:
    return spectra(sound, at, at + PART_SECONDS, WINDOW).values


def _by_notes(recording: Sounds, peaks: Peaks, tracks: Sequence[Track], name: str) -> Piece:
    """Without a count-in: the key, string and tempo that close there, or else whose notes lie best;
    then the stage."""
    hours = recording.frames / recording.rate_hz * len(tracks) / 3600
    if hours > MOST_HOURS_BY_NOTES:
        raise TakeError(
            f"{name}: no track is heard in it, and it is too long to be laid against the notes of "
            f"{len(tracks)} tracks; name the track that was played"
        )
    places = place_by_playing(recording, peaks, [each.timeline for each in tracks])
    groups: dict[tuple[object, ...], list[Piece]] = defaultdict(list)
    for track, placed in zip(tracks, places, strict=True):
        groups[_asked(track)].append(Piece(track, placed))
    firsts = [stages[0] for stages in groups.values()]
    best = max(firsts, key=lambda piece: (SURE.index(piece.placed.how), piece.placed.strength))
    rivals = tuple(
        piece.track.name
        for piece in firsts
        if piece.placed.how == best.placed.how and piece is not best
        if piece.placed.strength * CLEAR > best.placed.strength
    )
    if rivals and _notes_there(OnTrackClock(recording, best.placed), _notes(best.track)) < THERE:
        rivals = ()  # not several tracks fit, but none; what is then listened to is told as that
    stages = groups[_asked(best.track)]
    if best.placed.how != "playing":
        found = _which(recording, best.placed, [piece.track for piece in stages])
    else:
        found = max(stages, key=lambda piece: piece.placed.strength)
        found = replace(found, is_sure_of_stage=len(stages) == 1)
    return replace(found, rivals=rivals)


def _asked(track: Track) -> tuple[object, ...]:
    """What is the same in all stages, so that headphones cannot tell these apart."""
    return track.entry.key, track.entry.string, track.entry.bpm


class UndecidedError(PlayalongError):
    """Several tracks fit, and nobody is there to be asked."""


def undecided(name: str, piece: Piece) -> UndecidedError:
    others = ", ".join((piece.track.name, *piece.rivals[:7]))
    return UndecidedError(f"{name} fits several tracks: {others}. Name the one that was played")
