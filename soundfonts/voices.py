"""The voices of the bank, as tables: what each is made of and which keys it covers.

Body resonances (air, main wood modes, bridge hill) are common practice, rounded, and broader
than a real body's, so that one key does not stand out from the next. They lie at absolute
frequencies: each sample is coloured where it sounds, not moved with its key.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Body:
    """How an instrument radiates: a floor of 1, peaks above it, less below and high up."""

    peaks: tuple[tuple[float, float, float], ...]  # hz, Q, height in db above the floor
    low_hz: float  # below, the body is too small to radiate: 12 db an octave
    high_hz: float  # above, the string and the body lose strength: 18 db an octave


@dataclass(frozen=True)
class Voice:
    """One preset. `partials_db` None means a bowed string: partial n at 1/n."""

    name: str
    program: int
    lowest_root: int
    highest_root: int
    step: int  # semitones from one sample to the next
    loop_seconds: float
    level_db: float  # K-weighted mean square of each sample, 0 db at full scale
    noise_db: float  # bow or breath noise against the tone, K-weighted
    attack_seconds: float
    release_seconds: float  # to fall 100 db
    body: Body
    partials_db: tuple[float, ...] | None = None


VIOLIN = Body(
    peaks=((275, 4, 5), (460, 4, 6), (550, 5, 6), (950, 3, 3), (2500, 1.3, 10)),
    low_hz=190,
    high_hz=4200,
)
VIOLA = Body(
    peaks=((225, 4, 5), (360, 4, 6), (440, 5, 5), (750, 3, 4), (1900, 1.3, 9)),
    low_hz=140,
    high_hz=3400,
)
CELLO = Body(
    peaks=((100, 4, 5), (180, 4, 6), (215, 5, 5), (400, 3, 4), (1400, 1.3, 8)),
    low_hz=70,
    high_hz=2700,
)
CONTRABASS = Body(
    peaks=((62, 4, 5), (105, 4, 6), (160, 4, 4), (300, 3, 4), (850, 1.3, 8)),
    low_hz=45,
    high_hz=1900,
)
WARM_AIR = Body(peaks=(), low_hz=1, high_hz=5000)  # no body of its own
CLEAR_AIR = Body(peaks=(), low_hz=1, high_hz=12_000)

GUIDE_DB = -14.0
BOWED_ATTACK_SECONDS, BOWED_RELEASE_SECONDS = 0.045, 0.070


def _bowed(name: str, program: int, lowest: int, highest: int, body: Body) -> Voice:
    return Voice(
        name=name,
        program=program,
        lowest_root=lowest,
        highest_root=highest,
        step=2,
        loop_seconds=0.4,
        level_db=GUIDE_DB,
        noise_db=-46,
        attack_seconds=BOWED_ATTACK_SECONDS,
        release_seconds=BOWED_RELEASE_SECONDS,
        body=body,
    )


VOICES = (
    Voice(
        name="Drone",
        program=20,
        lowest_root=24,
        highest_root=88,
        step=4,
        loop_seconds=0.4,
        level_db=GUIDE_DB - 9,
        noise_db=-60,
        attack_seconds=0.150,
        release_seconds=0.200,
        body=WARM_AIR,
        partials_db=(0, -3, -6, -9, -12, -15, -18.5, -22),
    ),
    # Roots from below the lowest open string at A4 = 392 to beyond the end of the fingerboard.
    _bowed("Violin", 40, 53, 107, VIOLIN),
    _bowed("Viola", 41, 46, 100, VIOLA),
    _bowed("Cello", 42, 34, 91, CELLO),
    _bowed("Contrabass", 43, 23, 74, CONTRABASS),
    Voice(
        name="Ghost",
        program=79,
        lowest_root=25,
        highest_root=109,
        step=4,
        loop_seconds=0.4,
        level_db=GUIDE_DB - 9,
        noise_db=-56,
        attack_seconds=BOWED_ATTACK_SECONDS,
        release_seconds=BOWED_RELEASE_SECONDS,
        body=CLEAR_AIR,
        # A weak first partial cannot cancel that of a bowed note held on the same pitch.
        partials_db=(-12, 0, -10, -16, -22, -28),
    ),
)
