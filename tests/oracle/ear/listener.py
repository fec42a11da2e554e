"""A listener who knows the law by heart, and how surely he names a climb or notices a change.

He observes the logarithms of pitch and cadence. Each observation is off by a normal error whose
standard deviation is the just noticeable step (a step is d' = 1), and he names the climb that makes
what he observed most likely (Bayes, all climbs equally likely). One look: what one second holds is
one pitch and one cadence, as in the experiments that the just noticeable steps come from.

A beep near its threshold is missed now and then. d' of a tone in noise is in proportion to its
power (Green and Swets 1966), 1 at the threshold; the listener hears it when his observation is
above 1, so that half of the beeps at the threshold are heard. Whoever hears no beep within the
second guesses; whoever never hears two in a row knows no cadence.

Nobody knows a law by heart. Of absolute values a person remembers about 2.2 bits over the range
that he has met (Pollack 1952, from memory). An error whose standard deviation is the range divided
by `2^2.2 sqrt(2 pi e)` leaves so many.
"""

import numpy as np
from scipy.special import ndtr

from ear import limens

# The climbs that are named: 20 of them, 0.5 m/s apart.
CLIMBS_MPS = np.arange(1, 21) / 2
DRAWS = 4000

# Gain by repetition ends after about this many looks (Drake and Botte 1993 find it for intervals;
# from memory), and for a false alarm in 100 the evidence must exceed this many standard deviations.
MOST_LOOKS = 4
CRITERION = 2.33
# Between deciding and telling, and the tone of a sink is looked at this often: guesses.
LOOK_OF_STEADY_TONE_S = 0.2

MEMORY_BITS = 2.2


def heard(above_threshold_db):
    """Probability that one beep is heard."""
    return ndtr(10 ** (np.asarray(above_threshold_db, float) / 10) - 1.0)


def memory_error(lowest, highest):
    """Standard deviation of a remembered value, in natural logarithms, over a range."""
    return np.log(highest / lowest) / (2**MEMORY_BITS * np.sqrt(2 * np.pi * np.e))


class Heard:
    """What a law is to the ear in one noise: arrays, one value a climb of `climbs`."""

    def __init__(self, law, climbs, above_threshold_db):
        points = [law.at(climb) for climb in climbs]
        above = np.array([above_threshold_db(climb) for climb in climbs])
        self.pitch = np.log([point.pitch_hz for point in points])
        self.cadence_hz = np.array([point.cadence_hz for point in points])
        self.cadence = np.log(self.cadence_hz)
        lengths = np.array([point.beep_s for point in points])
        self.pitch_error = np.minimum(limens.pitch_limen(lengths, above), 1e3)
        self.cadence_error = limens.cadence_limen(self.cadence_hz)
        self.heard = heard(above)

    def remembered(self):
        """The same for a listener with a person's memory for pitch and cadence."""
        for values, name in ((self.pitch, "pitch_error"), (self.cadence, "cadence_error")):
            error = memory_error(np.exp(np.min(values)), np.exp(np.max(values)))
            setattr(self, name, np.hypot(getattr(self, name), error))
        return self


def _chances(ear):
    """Probability that a second brings any beep, and that it brings two in a row."""
    beeps = np.maximum(1, np.floor(ear.cadence_hz))
    some = 1 - (1 - ear.heard) ** beeps
    pair = 1 - (1 - ear.heard**2) ** np.maximum(1, beeps - 1)
    return some, np.minimum(pair, some)


def wrong_share(law, above_threshold_db, climbs=CLIMBS_MPS, seed=1, by_heart=True):
    """Share of climbs named wrongly; `above_threshold_db` is a function of the climb.

    `by_heart` is a listener who knows the law exactly; without it he has a person's memory.
    """
    ear = Heard(law, climbs, above_threshold_db)
    ear = ear if by_heart else ear.remembered()
    some, pair = _chances(ear)
    random = np.random.default_rng(seed)
    wrong = 0.0
    for true in range(len(climbs)):
        chance = random.random(DRAWS)
        pitch = ear.pitch[true] + ear.pitch_error[true] * random.standard_normal(DRAWS)
        cadence = ear.cadence[true] + ear.cadence_error[true] * random.standard_normal(DRAWS)
        by_pitch = _log_likelihood(pitch, ear.pitch, ear.pitch_error)
        by_cadence = _log_likelihood(cadence, ear.cadence, ear.cadence_error)
        by_cadence[chance > pair[true]] = 0.0
        named = np.argmax(by_pitch + by_cadence, axis=1)
        missed = chance > some[true]
        wrong += np.mean(np.where(missed, 1 - 1 / len(climbs), named != true))
    return wrong / len(climbs)


def _log_likelihood(observed, expected, error):
    """Draws by hypotheses."""
    return -0.5 * ((observed[:, None] - expected) / error) ** 2 - np.log(error)
