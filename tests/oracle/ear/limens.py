"""Just noticeable steps of short tones.

Pitch: `0.6 % (200 ms / T)^1/2 10^(5.09 (1/SL - 1/40))` for a tone of T up to 200 ms and a level of
SL dB above its threshold. Shape: Micheyl, Xiao and Oxenham 2012; coefficients: Nelson, Stanton and
Freyman 1983, Moore 1973, from memory; 0.6 % for long tones: Kollmeier, Brand and Meyer 2008. Above
40 dB it no longer shrinks.

Cadence: 2.5 % of the time between two beeps, and 6 ms where that is shorter than 240 ms (Friberg
and Sundberg 1995).

The ear has both at once. They are added as independent observations are: the squares of the steps
(quadrature).
"""

import numpy as np

PITCH = 0.006
PITCH_LONG_S = 0.2
PITCH_LEVEL = 5.09
LEVEL_ENOUGH_DB = 40.0
CADENCE = 0.025
CADENCE_S = 0.006


def pitch_limen(length_s, above_threshold_db):
    """Least noticeable change of pitch, as a share of it; infinite at or below the threshold."""
    length = np.minimum(length_s, PITCH_LONG_S)
    above = np.minimum(np.asarray(above_threshold_db, float), LEVEL_ENOUGH_DB)
    with np.errstate(divide="ignore", over="ignore"):
        worse = 10 ** (PITCH_LEVEL * (1 / np.maximum(above, 1e-3) - 1 / LEVEL_ENOUGH_DB))
    return PITCH * np.sqrt(PITCH_LONG_S / length) * worse


def cadence_limen(cadence_hz):
    """Least noticeable change of cadence, as a share of it."""
    return np.maximum(CADENCE, CADENCE_S * np.asarray(cadence_hz))


def steps(law, climbs, above_threshold_db):
    """Just noticeable steps from each climb to the one 0.1 m/s above it.

    `above_threshold_db` is a function of the climb, or None for quiet.
    """
    found = []
    for climb in climbs:
        here, there = law.at(climb), law.at(climb + 0.1)
        above = LEVEL_ENOUGH_DB if above_threshold_db is None else above_threshold_db(climb)
        pitch = np.log(there.pitch_hz / here.pitch_hz) / pitch_limen(here.beep_s, above)
        cadence = np.log(there.cadence_hz / here.cadence_hz) / cadence_limen(here.cadence_hz)
        found.append(np.hypot(pitch, cadence))
    return np.array(found)
