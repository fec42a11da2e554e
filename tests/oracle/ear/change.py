"""How soon and how surely a listener notices that the climb has changed.

He has listened to one climb for a while and it changes, at a moment that no beep announces. Every
beep that begins after it is a look at the pitch, and every time between two such beeps a look at
the cadence. A look's d' is the change in just noticeable steps; looks add as independent
observations do (d' grows with the root of their number), up to four, and so do pitch and cadence.
He says "changed" when the evidence exceeds what nothing at all would exceed once in a hundred.
A beep that is not heard is no look (on average).
"""

import numpy as np
from scipy.special import ndtr

from ear import limens
from ear.listener import CRITERION, LOOK_OF_STEADY_TONE_S, MOST_LOOKS, heard

SURE = 0.9


def _looks_at_beeps(law, climb, change):
    """The d' of a look at pitch and at cadence (functions of the level), and the times of looks."""
    here, there = law.at(climb), law.at(climb + change)
    period = 1 / there.cadence_hz
    # The next beep begins, on average, half a period later, and is judged when it has ended.
    times = period / 2 + there.beep_s + period * np.arange(MOST_LOOKS)
    cadence = abs(np.log(there.cadence_hz / here.cadence_hz))
    return here, there, times, cadence / limens.cadence_limen(there.cadence_hz)


def noticed(law, climb, change, above_threshold_db):
    """Times in s after the change and the probability that it has been noticed by then."""
    looks = np.arange(1, MOST_LOOKS + 1)
    if law.at(climb).cadence_hz is None:
        here, there = law.at(climb), law.at(climb + change)
        times, cadence, length = LOOK_OF_STEADY_TONE_S * looks, 0.0, LOOK_OF_STEADY_TONE_S
    else:
        here, there, times, cadence = _looks_at_beeps(law, climb, change)
        length = there.beep_s
    above = above_threshold_db(climb + change)
    limen = limens.pitch_limen(length, above)
    pitch = abs(np.log(there.pitch_hz / here.pitch_hz)) / limen
    share = heard(above)
    evidence = np.sqrt(share * looks * pitch**2 + share**2 * (looks - 1) * cadence**2)
    return times, ndtr(evidence - CRITERION)


def share_of(times, chances, seconds):
    """Probability that a change has been noticed within some seconds of it."""
    within = chances[times <= seconds]
    return float(within[-1]) if len(within) else 0.0


def sure_after(times, chances):
    """Seconds until 9 of 10 changes have been noticed; infinite if four looks do not do."""
    sure = np.flatnonzero(chances >= SURE)
    return float(times[sure[0]]) if len(sure) else float("inf")


def share_within(law, climb, change, above_threshold_db, seconds):
    """Probability that the change has been noticed within some seconds of it."""
    return share_of(*noticed(law, climb, change, above_threshold_db), seconds)


def time_until_sure(law, climb, change, above_threshold_db):
    """Seconds until 9 of 10 changes have been noticed; infinite if four looks do not do."""
    return sure_after(*noticed(law, climb, change, above_threshold_db))


def pairs_noticed(law, value, change, above_threshold_db):
    """The same for the pairs of a cruise mode, whose pitch stays: times in s, and probabilities.

    A look is the time from one pair to the next; it is missed as a pair is. The first whole one
    begins, on average, half a period after the change.
    """
    here, there = law.at(value), law.at(value + change)
    looks = np.arange(1, MOST_LOOKS + 1)
    times = (looks + 0.5) / there.cadence_hz
    cadence = abs(np.log(there.cadence_hz / here.cadence_hz))
    steps = cadence / limens.cadence_limen(there.cadence_hz)
    share = heard(above_threshold_db(value + change))
    return times, ndtr(share * steps * np.sqrt(looks) - CRITERION)
