"""The course of a slide against the minimum-jerk law (Flash and Hogan 1985).

s(t) = 10 t^3 - 15 t^4 + 6 t^5; the table and the examples are computed from the law and from
x = L (1 - 1 / ratio).
"""

from __future__ import annotations

import math

import pytest

from playalong.performance.glide import TOP_SPEED, Glide, minimum_jerk, minimum_jerk_speed

TABLE = [  # t, s, ds/dt
    (0, 0, 0),
    (0.1, 0.00856, 0.243),
    (0.2, 0.05792, 0.768),
    (0.25, 0.103516, 1.0546875),
    (0.3, 0.16308, 1.323),
    (0.4, 0.31744, 1.728),
    (0.5, 0.5, 1.875),
    (0.6, 0.68256, 1.728),
    (0.75, 0.896484, 1.0546875),
    (0.9, 0.99144, 0.243),
    (1, 1, 0),
]


@pytest.mark.parametrize(("t", "way", "speed"), TABLE)
def test_place_and_speed_follow_the_table(t: float, way: float, speed: float) -> None:
    assert minimum_jerk(t) == pytest.approx(way, abs=5e-7)
    assert minimum_jerk_speed(t) * TOP_SPEED == pytest.approx(speed, abs=5e-7)


@pytest.mark.parametrize(("low", "high", "share"), [(0.1, 0.9, 0.50673), (0.05, 0.95, 0.62149)])
def test_most_of_the_way_takes_the_computed_share_of_the_time(
    low: float, high: float, share: float
) -> None:
    times = [n / 1_000_000 for n in range(1_000_001)]
    inside = [t for t in times if low <= minimum_jerk(t) <= high]
    assert inside[-1] - inside[0] == pytest.approx(share, abs=5e-6)


@pytest.mark.parametrize(("start", "end", "halfway"), [(2, 9, 5.1486), (0, 12, 4.9804)])
def test_at_half_time_the_pitch_follows_from_the_place(
    start: int, end: int, halfway: float
) -> None:
    def hz(semitones: float) -> float:
        return 293.665 * 2 ** (semitones / 12)

    at_half = Glide(hz(start), hz(end), hz(0)).hz_at(0.5)
    assert 12 * math.log2(at_half / hz(0)) == pytest.approx(halfway, abs=5e-5)


def test_700_cents_in_200_ms_peak_at_6562_5_cents_a_second() -> None:
    glide = Glide(440.0, 440.0 * 2 ** (7 / 12))
    step = 1e-4
    cents = 1200 * math.log2(glide.hz_at(0.5 + step) / glide.hz_at(0.5 - step))
    assert cents / (2 * step * 0.2) == pytest.approx(6562.5, abs=0.05)
