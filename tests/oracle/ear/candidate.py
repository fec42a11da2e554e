"""A law given as a table in Python, synthesised here: to judge a law before the program plays it.

The wave is as the program's: a sine, or a few harmonics, with raised-cosine edges of 5 ms (below
500 Hz of two and a half periods, 15 ms at most). Between entries the logarithms of pitch, cadence
and length are linear in the climb, and so are decibels.
"""

import json
from dataclasses import dataclass

import numpy as np

from ear.calibration import RATE
from ear.law import Point
from ear.masking import one_sound


@dataclass(frozen=True)
class Tables:
    """Climb: rows of m/s, Hz, beeps/s, ms, dB. Sink: rows of m/s, Hz, dB, steepest last.

    dB are those of the sum of all harmonics' amplitudes below full scale, at the default volume.
    `sink_harmonics` are amplitudes; the peak at full level is their sum.
    """

    climb: tuple
    sink: tuple
    sink_harmonics: tuple = (1.0,)


def read_tables(path):
    """Tables from a JSON file with `climb`, `sink` and `sink_harmonics`."""
    with open(path) as file:
        found = json.load(file)
    rows = {name: tuple(map(tuple, found[name])) for name in ("climb", "sink")}
    return Tables(**rows, sink_harmonics=tuple(found["sink_harmonics"]))


class CandidateLaw:
    """The same interface as `ear.law.Law`."""

    def __init__(self, tables):
        self.tables = tables
        self._climb = _columns(tables.climb, logarithms=3)
        self._sink = _columns(tables.sink, logarithms=1)
        self._waves = {}

    def at(self, climb_mps):
        """The row of a vertical speed."""
        if climb_mps > 0:
            pitch, cadence, length, level = _between(self._climb, climb_mps)
            period = [np.exp(pitch), np.exp(cadence), np.exp(length) / 1000]
            return Point(climb_mps, *map(float, period), float(level))
        pitch, level = _between(self._sink, climb_mps)
        return Point(climb_mps, float(np.exp(pitch)), None, None, float(level))

    def wav(self, climb_mps, seconds):
        """Samples from -1 to 1."""
        key = (round(climb_mps, 1), seconds)
        if key not in self._waves:
            self._waves[key] = self._synthesise(*key)
        return self._waves[key]

    def _synthesise(self, climb_mps, seconds):
        point = self.at(climb_mps)
        count = round(seconds * RATE)
        tone = _tone(point, count, (1.0,) if climb_mps > 0 else self.tables.sink_harmonics)
        if point.cadence_hz is None:
            return tone * _gate(count, count, point.pitch_hz)
        period, length = round(RATE / point.cadence_hz), round(RATE * point.beep_s)
        beep = tone[: min(period, count)] * _gate(period, length, point.pitch_hz)[:count]
        return np.tile(beep, count // period + 1)[:count]

    def beep(self, climb_mps):
        """One beep, or 1.2 s of the unbroken tone."""
        return one_sound(self.wav(climb_mps, 1.2))

    def length_s(self, climb_mps):
        """Length of a beep with its edges."""
        return len(self.beep(climb_mps)) / RATE

    def share_of_time(self, climb_mps):
        """Share of the time that sounds."""
        point = self.at(climb_mps)
        return 1.0 if point.cadence_hz is None else point.cadence_hz * point.beep_s


def _columns(rows, logarithms):
    table = np.array(sorted(rows), float)
    table[:, 1 : 1 + logarithms] = np.log(table[:, 1 : 1 + logarithms])
    return table


def _between(table, climb_mps):
    return [np.interp(climb_mps, table[:, 0], column) for column in table[:, 1:].T]


def _tone(point, count, harmonics):
    phase = 2 * np.pi * point.pitch_hz * np.arange(count) / RATE
    shares = np.array(harmonics) / np.sum(harmonics)
    # Odd partials as sines and even ones as cosines, as the program's polynomials give them.
    waves = [np.sin(n * phase) if n % 2 else np.cos(n * phase) for n in range(1, len(shares) + 1)]
    return 10 ** (point.level_db / 20) * np.tensordot(shares, waves, 1)


def _gate(period, length, pitch_hz):
    """Opens for `length` samples and closes behind it."""
    edge = round(RATE * np.clip(2.5 / pitch_hz, 0.005, 0.015))
    rise = (1 - np.cos(np.pi * np.arange(1, edge + 1) / edge)) / 2
    gate = np.zeros(max(period, length + edge))
    gate[:length] = 1.0
    gate[:edge] = rise
    if period > length:
        gate[length : length + edge] = rise[::-1]
    return gate[:period]
