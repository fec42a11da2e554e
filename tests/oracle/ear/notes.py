"""Whether sounds of several notes are understood: the two of a cruise pair, the three of the fault
call.

A note is heard as a beep is (`listener.heard`). From one note to another the listener observes the
change of pitch, off by the just noticeable steps of both.

Which of two notes was the first he knows where their beginnings are far more than 20 ms apart
(Hirsh 1959, from memory); those of a pair are 120 ms apart.

Which pitch a note has he knows by memory only, which is poor (`listener.memory_error`).
"""

import itertools

import numpy as np
from scipy.special import ndtr

from ear import limens, masking
from ear.calibration import RATE
from ear.listener import CRITERION, heard


def quiet(note):
    """Level above the threshold where there is no noise."""
    return limens.LEVEL_ENOUGH_DB


def in_noise(signal_to_noise_db, speaker, colour="pink"):
    """Level of a note above the threshold in a noise, as a function of the note's samples."""
    return lambda note: masking.excess_db(note, colour, signal_to_noise_db, speaker)


def _errors(notes, above):
    """Just noticeable step of pitch of each note."""
    return [min(float(limens.pitch_limen(len(note) / RATE, above(note))), 1e3) for note in notes]


def wrong_order(notes, interval, above):
    """Probability that one pair is taken for its opposite.

    `interval` is the ratio of the two pitches. Whoever misses a note of it guesses.
    """
    both = np.prod([heard(above(note)) for note in notes])
    misjudged = ndtr(-abs(np.log(interval)) / np.hypot(*_errors(notes, above)))
    return float(both * misjudged + (1 - both) / 2)


def call_known(notes, pitches_hz, lowest_beep_hz, memory, above):
    """Probability that one fault call is told from climb, and that it is told from sink.

    From climb: the lowest note that is heard is too low for a beep. By memory it is nearer to its
    own pitch than to that of the lowest beep; the three notes share the error of the memory.

    From sink: between the first and the last note that are heard, the pitch falls by more than
    nothing at all would seem to fall once in a hundred. Sink that falls by a third within a third
    of a second would have grown by 6 m/s.
    """
    chances = [float(heard(above(note))) for note in notes]
    errors = _errors(notes, above)
    pitches = np.log(pitches_hz)
    from_climb = from_sink = 0.0
    for pattern in itertools.product((False, True), repeat=len(notes)):
        heard_ones = np.flatnonzero(pattern)
        if len(heard_ones) == 0:
            continue
        chance = np.prod([c if is_heard else 1 - c for c, is_heard in zip(chances, pattern)])
        first, last = heard_ones[0], heard_ones[-1]
        too_low = (np.log(lowest_beep_hz) - pitches[last]) / 2
        from_climb += chance * ndtr(too_low / np.hypot(memory, errors[last]))
        if last > first:
            fall = (pitches[first] - pitches[last]) / np.hypot(errors[first], errors[last])
            from_sink += chance * ndtr(fall - CRITERION)
    return float(from_climb), float(from_sink)
