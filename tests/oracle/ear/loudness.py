"""Loudness and sharpness, by the package mosqito.

Loudness is that of ISO 532-1:2017 for sounds that vary in time, in a free field; its figure is N5,
the loudness exceeded during 5 % of the time. Sharpness is that of DIN 45692 from the same specific
loudness, each moment weighted by its loudness.

mosqito steps through time in Python, 48 000 steps a second, all bands at once. The sounds are put
side by side as more bands, so that one pass does them all: the same numbers in a tenth of the time
(test_ear.py compares).
"""

import numpy as np
from mosqito.sq_metrics import sharpness_din_from_loudness
from mosqito.sq_metrics.loudness.loudness_zwst._calc_slopes import _calc_slopes
from mosqito.sq_metrics.loudness.loudness_zwst._main_loudness import _main_loudness
from mosqito.sq_metrics.loudness.loudness_zwtv._nonlinear_decay import _nl_loudness
from mosqito.sq_metrics.loudness.loudness_zwtv._temporal_weighting import _temporal_weighting
from mosqito.sq_metrics.loudness.loudness_zwtv._third_octave_levels import _third_octave_levels

from ear.calibration import RATE

FIELD = "free"


def _core(pressure_pa):
    levels, _, _ = _third_octave_levels(pressure_pa, RATE)
    return _main_loudness(levels, FIELD)


def loudness_in_time(pressures_pa):
    """Loudness in sone every 2 ms and specific loudness of each sound, all of one length."""
    cores = [_core(pressure) for pressure in pressures_pa]
    bands = len(cores[0])
    decayed = _nl_loudness(np.concatenate(cores))
    found = []
    for place in range(len(cores)):
        total, specific = _calc_slopes(decayed[place * bands : (place + 1) * bands])
        found.append((_temporal_weighting(total)[::4], specific[:, ::4]))
    return found


def n5_and_sharpness(pressures_pa):
    """N5 in sone and sharpness in acum of each sound."""
    figures = []
    for total, specific in loudness_in_time(pressures_pa):
        heard = total > 0.05
        sharp = sharpness_din_from_loudness(total[heard], specific[:, heard])
        weighted = np.sum(sharp * total[heard]) / np.sum(total[heard])
        figures.append((float(np.percentile(total, 95)), float(weighted)))
    return np.array(figures).T
