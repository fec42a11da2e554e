"""Loudspeakers: the gain by frequency, 0 dB at the reference beep."""

import numpy as np

from ear.calibration import REFERENCE_HZ

# Second-order high-pass (Butterworth) of a loudspeaker of a few centimetres: a guess at the corner.
SMALL_CORNER_HZ = 700.0

# A bare piezo disc: resonances as (frequency in Hz, quality, height), all guesses. The shape is
# common for discs of 27 mm: a bending resonance between 2 and 4 kHz, little below it, where the
# disc is stiff and the response rises with the square of the frequency.
PIEZO_RESONANCE_HZ = 2800.0
PIEZO_QUALITY = 4.0


def flat(frequencies_hz):
    """Headphones: the same for every frequency."""
    return np.ones_like(np.asarray(frequencies_hz, float))


def small(frequencies_hz):
    """A small loudspeaker: 12 dB an octave below 700 Hz."""
    fourth = (np.asarray(frequencies_hz, float) / SMALL_CORNER_HZ) ** 4
    return fourth / (1 + fourth)


def piezo(frequencies_hz):
    """A bare piezo disc: one resonance, 12 dB an octave below it; its parameters are guesses."""
    ratio = np.asarray(frequencies_hz, float) / PIEZO_RESONANCE_HZ
    return ratio**4 / ((1 - ratio**2) ** 2 + (ratio / PIEZO_QUALITY) ** 2)


SPEAKERS = {"flat": flat, "small": small, "piezo": piezo}


def gain(name, frequencies_hz):
    """Gain of power, 1 at the reference beep, since the volume is set by it."""
    speaker = SPEAKERS[name]
    return speaker(frequencies_hz) / speaker(np.array([REFERENCE_HZ]))[0]
