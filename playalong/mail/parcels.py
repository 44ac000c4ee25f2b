"""Parcels: the files that go into one mail together, and the bit rates that let more fit.

Sizes are those of whole mails after encoding, because that is what servers limit.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence

from playalong.errors import PlayalongError
from playalong.folder.names import AudioFormat
from playalong.mail.contents import Item
from playalong.performance.clock import SAMPLE_RATE_HZ
from playalong.sound.audio import MP3_BITRATES

FLOOR_KBPS = min(MP3_BITRATES.offered)
FRAME = 1152  # samples of an MPEG-1 Layer III frame
EXTRA_FRAMES = 2  # what LAME adds: the frame with the length, and its delay (measured)

Weigh = Callable[[Sequence[Item]], int]  # bytes of a mail that holds these


class TooLargeError(PlayalongError):
    """What does not fit into any mail, and the ways out."""


def parcels(items: Sequence[Item], weigh: Weigh, limit_bytes: int) -> tuple[tuple[Item, ...], ...]:
    """Items in their order, as many into each mail as fit. Raises TooLargeError."""
    packed, rest = [], tuple(items)
    while rest:
        fit = bisect_right(range(1, len(rest) + 1), limit_bytes, key=lambda n: weigh(rest[:n]))
        if not fit:
            raise _too_large(rest[0], weigh(rest[:1]), limit_bytes)
        packed.append(rest[:fit])
        rest = rest[fit:]
    return tuple(packed)


def lower_rates(items: Sequence[Item]) -> tuple[int, ...]:
    """Bit rates below the present one, highest first; none where the files are not MP3."""
    now = max((rate_kbps(item) for item in items if is_mp3(item)), default=0.0)
    rates = sorted(MP3_BITRATES.offered, reverse=True)
    return tuple(rate for rate in rates if rate < 0.99 * now)  # what they have is not lower


def is_mp3(item: Item) -> bool:
    return item.path.suffix == AudioFormat.MP3.ending and item.seconds > 0


def rate_kbps(item: Item) -> float:
    """What a file really has; short files stand a little above their nominal rate."""
    return 8 * item.size_bytes / (1000 * (item.seconds + EXTRA_FRAMES * FRAME / SAMPLE_RATE_HZ))


def predicted_mp3_bytes(seconds: float, kbps: int, tag_bytes: int) -> int:
    """The size of an MP3 of constant bit rate, never less than the real one."""
    frames = -(-round(seconds * SAMPLE_RATE_HZ) // FRAME) + EXTRA_FRAMES
    return -(-frames * FRAME * kbps * 125 // SAMPLE_RATE_HZ) + 1 + tag_bytes


def _too_large(item: Item, size: int, limit_bytes: int) -> TooLargeError:
    return TooLargeError(
        f"{item.listed} alone makes a mail of {megabytes(size)}, and the limit is "
        f"{megabytes(limit_bytes)}: raise --limit if the pupil's server takes more, choose less "
        "with --stage or --bpm, make shorter or smaller tracks (playalong make with a smaller "
        "climb, --format mp3 or --bitrate), or hand the file over without mail"
    )


def megabytes(size: int) -> str:
    """Rounded up to a tenth, so that nothing looks smaller than it is."""
    return f"{-(-size // 100_000) / 10:.1f} MB"
