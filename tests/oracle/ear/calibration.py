"""How loud full scale is at the ear.

One reference for every law, so that laws can be compared at one setting of the volume: the beep of
+5 m/s in the law that was measured first (November 2026: 1360 Hz, 71.4 ms, evened by the
A-weighting, volume 8) is at 70 dB SPL. A loudspeaker keeps that beep at 70 dB: the pilot has set
the volume by it.
"""

import numpy as np

RATE = 48_000

# The reference beep. Its level is that of `chirrup tone --at 5` when the law was measured first, in
# dB below a sine of full scale.
REFERENCE_HZ = 1360.0
REFERENCE_DB = -16.60
REFERENCE_SPL = 70.0

# A root of the mean square of 1 Pa is 94 dB SPL (20 micropascals are 0 dB).
PASCAL_AT_0_DB = 20e-6

# The root of the mean square, in pascal, of a sine of full scale at the ear.
FULL_SINE_PA = PASCAL_AT_0_DB * 10 ** ((REFERENCE_SPL - REFERENCE_DB) / 20)


def pascals(samples):
    """Samples from -1 to 1 as sound pressure at the ear, in pascal."""
    return np.asarray(samples) * np.sqrt(2) * FULL_SINE_PA


def spl(power_pa2):
    """A mean square of the pressure as a level in dB SPL."""
    return 10 * np.log10(power_pa2 / PASCAL_AT_0_DB**2)
