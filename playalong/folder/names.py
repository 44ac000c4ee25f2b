"""The names of what a build leaves: each file and folder, and what kind of file it is.

A name made from a title, a key or a string is safe on every system.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from pathlib import PurePath, PurePosixPath

from playalong.music.key import Key
from playalong.music.pitch import LETTERS

RECORD_FOLDER = ".playalong"
MANIFEST_FILE = "manifest.json"
READ_ME_FILE = "read-me-first.txt"
PAGE_FILE = "index.html"
PAGE_FOLDER = "page"  # what the page reads
TEMPORARY_PREFIX = "playalong-"  # of files elsewhere, for a moment
# These take an ending.
SHEET = "sheet"
FINGERBOARD = "fingerboard"
SESSION = "session"

MIDI = ".mid"
TIMELINE = ".timeline.json"
PDF = ".pdf"
MUSICXML = ".musicxml"
SVG = ".svg"
ZIP = ".zip"
DRAFT = ".eml"


class AudioFormat(StrEnum):
    """The kinds of audio file, as a person names them; each ends in its own name."""

    MP3 = "mp3"
    WAV = "wav"
    FLAC = "flac"
    OGG = "ogg"
    OPUS = "opus"

    @property
    def ending(self) -> str:
        return f".{self}"


DEFAULT_AUDIO = AudioFormat.MP3


# A table of our own: `mimetypes` guesses from the machine's files, and wrong for MIDI and MusicXML.
MEDIA_TYPES = {
    AudioFormat.MP3.ending: "audio/mpeg",
    AudioFormat.WAV.ending: "audio/wav",
    AudioFormat.FLAC.ending: "audio/flac",
    AudioFormat.OGG.ending: "audio/ogg",
    AudioFormat.OPUS.ending: "audio/ogg",  # RFC 7845: Opus in Ogg
    MIDI: "audio/midi",
    PDF: "application/pdf",
    MUSICXML: "application/vnd.recordare.musicxml+xml",
    ".html": "text/html",
    ".css": "text/css",
    ".txt": "text/plain",
    ZIP: "application/zip",
}
UNKNOWN_TYPE = "application/octet-stream"

LONGEST = 60  # characters; with folders and endings this stays within every system's limit
# Names that Windows keeps for devices, with any ending or none.
RESERVED = {"con", "prn", "aux", "nul"} | {f"{n}{i}" for n in ("com", "lpt") for i in range(10)}


def media_type(name: str) -> str:
    """What kind of file a name promises, as mails and pages say it (RFC 6838)."""
    return MEDIA_TYPES.get(PurePath(name).suffix.lower(), UNKNOWN_TYPE)


@dataclass(frozen=True)
class TrackFiles:
    """The files of one track: paths below OUT, with forward slashes."""

    audio: str
    midi: str
    timeline: str
    stems: dict[str, str]

    @classmethod
    def of(cls, track: PurePosixPath, audio_ending: str, stems: Iterable[str]) -> TrackFiles:
        """The names for a track's path without ending, and for the stems that it is to have."""
        return cls(
            f"{track}{audio_ending}",
            f"{track}{MIDI}",
            f"{track}{TIMELINE}",
            {stem: f"{track}.{stem}{audio_ending}" for stem in stems},
        )

    @property
    def names(self) -> tuple[str, ...]:
        return (self.audio, self.midi, self.timeline, *self.stems.values())


def played_by_page(audio: str, stems: Mapping[str, str]) -> tuple[str, ...]:
    """A track's stems where it has them, since together they are the track and can be balanced."""
    return tuple(stems.values()) or (audio,)


def page_sound(audio: str) -> str:
    """The stylesheet that carries a sound to the page: `page/F-major/D/01-060-listen.mp3.css`."""
    return f"{PAGE_FOLDER}/{audio}.css"


def beside(name: str) -> str:
    """Where a file is set if somebody has changed the one that stands: `sheet.new.pdf`."""
    path = PurePosixPath(name)
    return str(path.with_name(f"{path.stem}.new{path.suffix}"))


def safe_name(title: str, otherwise: str = "drill") -> str:
    """Letters, digits and single hyphens, in lower case; accents fall away where they can."""
    plain = unicodedata.normalize("NFKD", title.replace("♯", " sharp").replace("♭", " flat"))
    kept = "".join(c if c.isalnum() else " " for c in plain if not unicodedata.combining(c))
    name = "-".join(unicodedata.normalize("NFC", kept).casefold().split())[:LONGEST]
    while len(name.encode()) > 3 * LONGEST:
        name = name[:-1]
    name = name.rstrip("-")
    if not name:
        return otherwise
    return f"{name}-{otherwise}" if name in RESERVED else name


def key_folder(key: Key) -> str:
    """`B-flat-major`, `F-sharp-harmonic-minor`."""
    accidental = {-1: "-flat", 0: "", 1: "-sharp"}[key.alter]
    return f"{LETTERS[key.letter]}{accidental}-{key.mode.replace(' ', '-')}"


def string_folder(string: str | None) -> str:
    """The string's letter, or `all` for drills in pitches or over several strings."""
    return string or "all"


def track_name(number: int, total: int, bpm: int, stage: str) -> str:
    """`01-060-listen`: the track's number, its tempo, its stage."""
    digits = max(2, len(str(total)))
    return f"{number:0{digits}}-{bpm:03}-{safe_name(stage, 'stage')}"
