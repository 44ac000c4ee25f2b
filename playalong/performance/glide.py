"""The glide of a slide: the hand's place on the string moves by minimum jerk.

s(t) = 10 t^3 - 15 t^4 + 6 t^5 (Flash and Hogan 1985), and pitch follows from the place. Without
a string the same way is taken in cents.
"""

from __future__ import annotations

from dataclasses import dataclass

from playalong.instrument.fingerboard import hz_at_place, place_mm

TOP_SPEED = 1.875  # of the mean, at half time


def minimum_jerk(t: float) -> float:
    """Share of the way covered at share `t` of the time."""
    return t**3 * (10 - 15 * t + 6 * t * t)


def minimum_jerk_speed(t: float) -> float:
    """Speed at share `t` of the time, as a share of the top speed."""
    return 30 * t * t * (1 - t) ** 2 / TOP_SPEED


@dataclass(frozen=True)
class Glide:
    """From one pitch to another; along a string where `open_hz` is known."""

    from_hz: float
    to_hz: float
    open_hz: float | None = None

    def hz_at(self, t: float) -> float:
        """Frequency at share `t` of the time, 0 to 1; the two ends are met exactly."""
        if t in (0, 1):
            return self.to_hz if t else self.from_hz
        way = minimum_jerk(t)
        if self.open_hz is None:
            return float(self.from_hz * (self.to_hz / self.from_hz) ** way)
        # Places on a string of length 1: the length drops out of the pitch.
        start, end = (place_mm(1, self.open_hz, hz) for hz in (self.from_hz, self.to_hz))
        return hz_at_place(1, self.open_hz, start + (end - start) * way)
