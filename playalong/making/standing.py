"""Whether what a record tells of something made is what it must tell: a record can be damaged."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from playalong.folder.made import Made
from playalong.folder.manifest import ManifestError, SessionEntry, TrackEntry
from playalong.making.plan import Options, RungPlan, TrackPlan

LONGEST_SECONDS = 1e9
LARGEST_GAIN = 1e9
SECONDS_OFF = 1e-3  # the record rounds


def tells_of_track(made: Made, rung: RungPlan, track: TrackPlan, options: Options) -> bool:
    files, gain = track.files(options), made.entry.get("gain")
    expected = TrackEntry(
        number=track.number,
        key=rung.key.name,
        string=rung.string,
        bpm=rung.bpm,
        stage=track.stage.name,
        seconds=track.seconds,
        audio=files.audio,
        midi=files.midi,
        timeline=files.timeline,
        stems=files.stems,
        sha256=dict(made.sha256),
    )
    try:
        entry = TrackEntry.of(made.entry)
    except ManifestError:
        return False
    return (
        set(files.names) == made.files.keys() == made.sha256.keys()
        and replace(entry, seconds=track.seconds) == expected
        and abs(entry.seconds - track.seconds) < SECONDS_OFF
        and isinstance(gain, float)
        and 0 <= gain < LARGEST_GAIN
    )


def tells_of_session(made: Made, rung: RungPlan, options: Options) -> bool:
    try:
        entry = SessionEntry.of(made.entry)
    except ManifestError:
        return False
    name = rung.session_file(options)
    return (
        (entry.key, entry.string, entry.audio) == (rung.key.name, rung.string, name)
        and {name} == made.files.keys() == made.sha256.keys()
        and all(0 <= at < LONGEST_SECONDS for at in (entry.seconds, *dict(entry.parts)))
    )


def tells_of_paper(made: Made) -> bool:
    """Of a sheet or a page: the names that the manifest will hold are those of its files."""
    told = made.entry.get("told")
    if not isinstance(told, Mapping):
        return False
    scores = told.get("musicxml", [])
    if not isinstance(scores, list) or not told.keys() <= {"pdf", "musicxml", "page"}:
        return False
    names = [*scores, *(told[name] for name in ("pdf", "page") if name in told)]
    return sorted(map(repr, names)) == sorted(map(repr, made.files))
