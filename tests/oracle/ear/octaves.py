"""Whether the unbroken tone is taken for its octave, when its second harmonic leads.

The octave is heard where no odd harmonic (first, third) is heard beside the even ones. An odd
harmonic counts by its level above the masked threshold, through the loudspeaker; and only if it is
no more than 20 dB below the strongest partial (a guess: the ear's masking of a tone by its octave
is weaker than that, from memory).
"""

import numpy as np
import scipy.signal

from ear import limens, masking
from ear.calibration import RATE
from ear.listener import heard

PARTIALS = 4
HIDDEN_BELOW_DB = 20.0
DRAWS = 4000


def partial(sound, pitch_hz, number):
    """One partial of a steady tone, cut out of it by a band-pass half a pitch wide."""
    band = pitch_hz * (number + np.array([-0.25, 0.25]))
    filters = scipy.signal.butter(4, band, "bandpass", fs=RATE, output="sos")
    return scipy.signal.sosfiltfilt(filters, sound)


def excesses_db(sound, pitch_hz, colour, signal_to_noise_db, speaker):
    """Excess over the masked threshold of each partial; those that are not there are -inf."""
    whole = np.mean(sound**2)
    found = []
    for number in range(1, PARTIALS + 1):
        part = partial(sound, pitch_hz, number)
        there = np.mean(part**2) > whole * 1e-5
        arguments = (colour, signal_to_noise_db, speaker)
        found.append(masking.excess_db(part, *arguments) if there else -np.inf)
    return np.array(found)


def octave_chance(sound, pitch_hz, colour="pink", signal_to_noise_db=-10.0, speaker="small"):
    """Probability that the tone is heard an octave up."""
    excess = excesses_db(sound, pitch_hz, colour, signal_to_noise_db, speaker)
    counts = excess >= np.max(excess) - HIDDEN_BELOW_DB
    chances = np.where(counts, heard(excess), 0.0)
    odd = 1 - np.prod(1 - chances[0::2])
    even = 1 - np.prod(1 - chances[1::2])
    return float(even * (1 - odd))


def wrong_depths(pitches_hz, octave_chances, excess_db, seed=1):
    """Share of depths that a listener names wrongly, who names the one whose pitch is nearest."""
    random = np.random.default_rng(seed)
    pitches = np.log(pitches_hz)
    wrong = 0.0
    for true, chance in enumerate(octave_chances):
        limen = min(float(limens.pitch_limen(0.2, excess_db[true])), 1e3)
        observed = pitches[true] + limen * random.standard_normal(DRAWS)
        observed += np.where(random.random(DRAWS) < chance, np.log(2), 0.0)
        named = np.argmin(np.abs(observed[:, None] - pitches), axis=1)
        wrong += np.mean(named != true)
    return wrong / len(pitches)
