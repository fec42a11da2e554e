"""How far a tone is above the threshold at which noise hides it.

Auditory filters are rounded exponentials, `W(g) = (1 + p g) exp(-p g)` with `g = |f - fc| / fc`
and `p = 4 fc / ERB` (Patterson, Nimmo-Smith, Weber and Milroy 1982; Glasberg and Moore 1990). Their
equivalent rectangular bandwidth is `ERB = 24.7 (4.37 fc / kHz + 1)` Hz (Glasberg and Moore 1990).
A long tone is at its threshold when its power behind the filter is -4 dB (0.4) of the noise's
(`K`; Patterson and Moore 1986, from memory). The ear chooses the filter in which the tone stands
out most.

A short tone needs more level: the power is summed by a leaky integrator with a time constant of
200 ms, so that a tone of length T is as audible as a long one weaker by `1 - exp(-T / 200 ms)`
(Plomp and Bouman 1959). Each beep must be heard by itself: the beeps before it do not count.
"""

import functools

import numpy as np
import scipy.signal

from ear import speakers
from ear.calibration import PASCAL_AT_0_DB, RATE, REFERENCE_SPL, pascals, spl

K = 0.4
INTEGRATION_S = 0.2

# The level of a noise is that within this band, whatever its colour.
NOISE_BAND_HZ = (100.0, 10_000.0)
# Power per hertz falls with this power of the frequency: pink, and wind-like (-6 dB an octave).
SLOPES = {"pink": 1.0, "wind": 2.0}

CENTRES_HZ = np.geomspace(150.0, 8_000.0, 240)
# A step of 0.7 Hz, and room for 1.3 s of tone.
_FFT = 1 << 16
_FREQUENCIES = np.fft.rfftfreq(_FFT, 1 / RATE)
_STEP_HZ = RATE / _FFT


def erb_hz(centre_hz):
    """Equivalent rectangular bandwidth of the auditory filter."""
    return 24.7 * (4.37 * np.asarray(centre_hz) / 1000 + 1)


def _filters():
    """Share of power that each filter lets through: centres by frequencies up to 12 kHz."""
    used = _FREQUENCIES[_FREQUENCIES <= 12_000]
    centres = CENTRES_HZ[:, None]
    slope = 4 * centres / erb_hz(centres) * np.abs(used[None, :] - centres) / centres
    return used, ((1 + slope) * np.exp(-slope)).astype(np.float32)


_USED, _WEIGHTS = _filters()


@functools.cache
def noise_behind_filters(colour):
    """Mean square behind each filter of a noise of 0 dB SPL within its band, in Pa^2."""
    low, high = NOISE_BAND_HZ
    density = np.zeros_like(_USED)
    inside = (_USED >= low) & (_USED <= high)
    density[inside] = _USED[inside] ** -SLOPES[colour]
    return _WEIGHTS @ (density * (PASCAL_AT_0_DB**2 / np.sum(density)))


def sounds(samples):
    """Every beep or note, or the whole of an unbroken tone: the program's silence is all zeros.

    A sine passes zero too: a gap is at least 5 ms of zeros. The last one may be cut by the end.
    """
    sounding = np.flatnonzero(samples)
    if len(sounding) == 0:
        return []
    gaps = np.flatnonzero(np.diff(sounding) > RATE // 200)
    first = sounding[np.concatenate([[0], gaps + 1])]
    last = sounding[np.concatenate([gaps, [-1]])]
    return [samples[start : end + 1] for start, end in zip(first, last)]


def one_sound(samples):
    """The first of them; nothing where there is none."""
    return next(iter(sounds(samples)), samples[:0])


def behind_filters(sound, speaker):
    """Power of a beep behind each filter, integrated over 200 ms, in Pa^2."""
    pressure = pascals(sound)
    decay = np.exp(-1 / (INTEGRATION_S * RATE))
    summed = scipy.signal.lfilter([1 - decay], [1, -decay], pressure**2)
    part = pressure[-_FFT:]
    spectrum = np.abs(np.fft.rfft(part, _FFT)[: len(_USED)]) ** 2
    share = _WEIGHTS @ (spectrum * speakers.gain(speaker, _USED)) / np.sum(spectrum)
    return np.max(summed) * share


def excess_db(sound, colour="pink", signal_to_noise_db=-10.0, speaker="flat"):
    """How far a sound (one beep, or some seconds of tone) is above its masked threshold, in dB.

    `signal_to_noise_db` sets the noise: -10 is a noise 10 dB above the reference beep.
    """
    noise_spl = REFERENCE_SPL - signal_to_noise_db
    ratio = behind_filters(sound, speaker) / (K * noise_behind_filters(colour))
    return float(10 * np.log10(np.max(ratio))) - noise_spl


def level_spl(sound):
    """Level of a sound while it lasts, in dB SPL."""
    return spl(np.mean(pascals(sound) ** 2))
