"""The law that was measured first (November 2026): what this oracle must say of it stays fixed.

Evened by the A-weighting (IEC 61672-1, annex E), volume 8, a pure sine.
"""

import numpy as np

from ear.candidate import CandidateLaw, Tables

VOLUME_DB = -6.0
CLIMB = [
    (0.2, 560.0, 1.6, 312.5),
    (1.0, 720.0, 2.6, 192.3),
    (2.0, 900.0, 3.8, 131.6),
    (3.0, 1060.0, 4.9, 102.0),
    (5.0, 1360.0, 7.0, 71.4),
    (15.0, 2200.0, 11.5, 43.5),
]
SINK = [(-1.6, 370.0), (-4.0, 300.0), (-10.0, 220.0)]


def a_weighting_db(frequency_hz):
    """IEC 61672-1, annex E."""
    f2 = frequency_hz**2
    poles = (f2 + 20.6**2) * np.sqrt((f2 + 107.7**2) * (f2 + 737.9**2)) * (f2 + 12194.0**2)
    return 20 * np.log10(1.2589 * 12194.0**2 * f2**2 / poles)


def level_db(pitch_hz):
    """Every tone as the lowest, 220 Hz, at full level."""
    return VOLUME_DB + a_weighting_db(220.0) - a_weighting_db(pitch_hz)


def first_law():
    """The law, with levels by pitch at every tenth of a metre per second."""
    bare = CandidateLaw(
        Tables(tuple((*row, 0.0) for row in CLIMB), tuple((*row, 0.0) for row in SINK))
    )
    climb = [bare.at(tenth / 10) for tenth in range(2, 151)]
    sink = [bare.at(tenth / 10) for tenth in range(-100, -15)]
    return CandidateLaw(
        Tables(
            tuple(
                (p.climb_mps, p.pitch_hz, p.cadence_hz, 1000 * p.beep_s, level_db(p.pitch_hz))
                for p in climb
            ),
            tuple((p.climb_mps, p.pitch_hz, level_db(p.pitch_hz)) for p in sink),
        )
    )
