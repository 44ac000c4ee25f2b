"""The voices of the bank, as tables: what each is made of and which keys it covers.

A bowed instrument has two: the full voice, under its General MIDI number, coloured by its body
where each sample sounds; and a bare string in bank 1, for the renderer that sets the body behind
it (`playalong/sound/bodies.py`, where the bodies are).
"""

from __future__ import annotations

from dataclasses import dataclass

from playalong.sound.bodies import CELLO, CONTRABASS, GUIDE_DB, VIOLA, VIOLIN, Body


@dataclass(frozen=True)
class Voice:
    """One preset. `partials_db` None means a bowed string: partial n at 1/n."""

    name: str
    program: int
    lowest_root: int
    highest_root: int
    step: int  # semitones from one sample to the next
    level_db: float  # K-weighted mean square of each sample, 0 db at full scale
    attack_seconds: float
    release_seconds: float  # to fall 100 db
    body: Body
    partials_db: tuple[float, ...] | None = None

    @property
    def is_bowed(self) -> bool:
        return self.partials_db is None


LOOP_SECONDS = 0.06  # of a tone; all its turns are alike, so it may be short
NOISE_DB = -32.0  # of the bow, against the tone, K-weighted
BARE_NOISE_DB = -28.0  # of the bare noise, unweighted
NOISE_SECONDS = 2.4  # of its loop: long enough that no turn is heard to come back

DRONE_AIR = Body(peaks=((520, 0.7, 7),), low_hz=1, high_hz=1500)
CLEAR_AIR = Body(peaks=(), low_hz=1, high_hz=12_000)

BOWED_ATTACK_SECONDS, BOWED_RELEASE_SECONDS = 0.045, 0.070


def _bowed(name: str, program: int, lowest: int, highest: int, body: Body) -> Voice:
    return Voice(
        name=name,
        program=program,
        lowest_root=lowest,
        highest_root=highest,
        step=1,
        level_db=GUIDE_DB,
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
        step=1,
        level_db=GUIDE_DB - 9,
        attack_seconds=0.150,
        release_seconds=0.200,
        body=DRONE_AIR,
        # Many partials that fall slowly: a small loudspeaker gives the upper ones, and the ear
        # hears the tonic in them.
        partials_db=tuple(-1.2 * n for n in range(24)),
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
        level_db=GUIDE_DB - 9,
        attack_seconds=BOWED_ATTACK_SECONDS,
        release_seconds=BOWED_RELEASE_SECONDS,
        body=CLEAR_AIR,
        # A weak first partial cannot cancel that of a bowed note held on the same pitch.
        partials_db=(-12, 0, -10, -16, -22, -28),
    ),
)
