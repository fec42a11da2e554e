"""The figures by which a law is judged, each with what the first law gave and what is asked."""

from dataclasses import dataclass

import numpy as np

from ear import change, limens, listener, loudness, masking, octaves, wind
from ear.calibration import pascals
from ear.law import tenths

# Where loudness is measured.
LOUDNESS_MPS = (-10, -8, -6, -4, -2.5, -1.6, 0.2, 0.5, 1, 2, 3, 4, 5, 7, 10)
# Median loudness of the first law over these, in sone: what a pilot had set his volume to.
MEDIAN_MPS = (-8, -1.6, 0.5, 2, 5, 10)
FIRST_MEDIAN_SONE = 9.25
SECONDS = 2.0
BEEPS_MPS = np.concatenate([[0.2], np.arange(1, 21) / 2])
DEPTHS_MPS = (-10.0, -8.0, -6.0, -5.0, -4.0, -3.0, -2.0, -1.6)
NOISES = (("flat", "pink"), ("small", "pink"), ("flat", "wind"))
CHANGES_MPS = (0.2, 0.5, 1.0)
FAST_KMH = 200.0


@dataclass(frozen=True)
class Figure:
    """A line of the table; `better` is +1 where more is better, -1 where less is."""

    name: str
    unit: str
    today: float
    must: float
    aim: float
    better: int
    value: float

    def meets(self, bound):
        """True where the value is at the bound or on its good side."""
        return self.better * (self.value - bound) >= 0

    @property
    def verdict(self):
        """What of the two it meets."""
        return "aim" if self.meets(self.aim) else "must" if self.meets(self.must) else "short"


class Ear:
    """A law and what was measured of it; nothing is measured twice."""

    def __init__(self, law):
        self.law = law
        self._excess = {}
        self._loudness = None

    def excess(self, climb, speaker="flat", colour="pink", signal_to_noise_db=-10.0):
        """Excess over the masked threshold, in dB; it moves with the noise dB by dB."""
        key = (round(float(climb), 1), speaker, colour)
        if key not in self._excess:
            self._excess[key] = masking.excess_db(self.law.beep(key[0]), colour, 0.0, speaker)
        return self._excess[key] + signal_to_noise_db

    def above(self, *noise):
        """The excess as a function of the climb."""
        return lambda climb: self.excess(climb, *noise)

    def loudness(self):
        """N5 in sone and sharpness in acum, each by vertical speed."""
        if self._loudness is None:
            sounds = [pascals(self.law.wav(climb, SECONDS)) for climb in LOUDNESS_MPS]
            n5, sharpness = loudness.n5_and_sharpness(sounds)
            self._loudness = dict(zip(LOUDNESS_MPS, n5)), dict(zip(LOUDNESS_MPS, sharpness))
        return self._loudness

    def louder_than_first_db(self):
        """By how many dB this law must be turned down to be as loud as the first one.

        Twice as many sone are 10 dB (the definition of the sone, above 40 phon: ISO 532-1).
        """
        median = np.median([self.loudness()[0][climb] for climb in MEDIAN_MPS])
        return float(10 * np.log2(median / FIRST_MEDIAN_SONE))


def audibility(ear):
    """Beeps and sink above the masked threshold, in dB."""
    beeps = min(ear.excess(climb, speaker) for climb in BEEPS_MPS for speaker in ("flat", "small"))
    sink = min(ear.excess(depth, "small") for depth in DEPTHS_MPS)
    even = beeps - ear.louder_than_first_db()
    return [
        Figure("beeps above masked threshold, pink -10, one volume", "dB", 3.1, 12, 15, 1, beeps),
        Figure("the same, as loud as the first law's median", "dB", 3.1, 6, 8, 1, even),
        Figure("sink on the small loudspeaker, all depths", "dB", -2.1, 6, 10, 1, sink),
    ]


def least_steps(ear, first, last, signal_to_noise_db):
    """Fewest just noticeable steps per 0.1 m/s between two climbs; None is quiet."""
    noise = None
    if signal_to_noise_db is not None:
        noise = ear.above("flat", "pink", signal_to_noise_db)
    return float(np.min(limens.steps(ear.law, tenths(first, last - 0.1), noise)))


def steps(ear):
    """Just noticeable steps per 0.1 m/s."""
    lines = [
        ("0.2 to 5, quiet", (0.2, 5.0, None), 1.3, 2.0, 2.5),
        ("0.2 to 5, S/N 0", (0.2, 5.0, 0.0), 0.83, 2.0, 2.4),
        ("0.2 to 5, S/N -10", (0.2, 5.0, -10.0), 0.42, 1.5, 2.0),
        ("5 to 10, quiet", (5.0, 10.0, None), 0.43, 0.6, 0.8),
    ]
    return [
        Figure(f"steps per 0.1 m/s, {name}", "", *asked, 1, least_steps(ear, *where))
        for name, where, *asked in lines
    ]


def comfort(ear):
    """Loudness, length, share of time and sharpness."""
    n5, sharpness = ear.loudness()
    points = [ear.law.at(climb) for climb in tenths(0.2, 10.0)]
    length = 1000 * min(point.beep_s for point in points)
    share = max(point.beep_s * point.cadence_hz for point in points)
    spread = max(n5.values()) / min(n5.values())
    return [
        Figure("loudness N5, greatest over least, with sink", "", 2.07, 1.35, 1.25, -1, spread),
        Figure("shortest beep", "ms", 54, 95, 100, 1, length),
        Figure("greatest share of time", "", 0.5, 0.7, 0.5, -1, share),
        Figure("sharpness at +5 m/s", "acum", 1.22, 1.45, 1.25, -1, sharpness[5]),
        Figure("sharpness at +10 m/s", "acum", 1.42, 1.75, 1.45, -1, sharpness[10]),
    ]


def naming(ear, louder_at_speed_db):
    """Climbs named wrongly by the listener, in %."""
    asked = ((44, 20, 12), (44, 20, 12), (32, 12, 7))
    found = []
    for (speaker, colour), bounds in zip(NOISES, asked):
        wrong = 100 * listener.wrong_share(ear.law, ear.above(speaker, colour))
        found.append(Figure(f"wrong of 20 climbs, {colour}, {speaker}", "%", *bounds, -1, wrong))
    at_speed = wind.signal_to_noise_db(FAST_KMH) + louder_at_speed_db
    wrong = 100 * listener.wrong_share(ear.law, ear.above("flat", "wind", at_speed))
    name = f"wrong at 200 km/h, {louder_at_speed_db:+.1f} dB by airspeed"
    return [*found, Figure(name, "%", 51, 20, 15, -1, wrong)]


def all_figures(ear, louder_at_speed_db=0.0):
    """The whole table of the issue."""
    parts = audibility(ear), steps(ear), comfort(ear), naming(ear, louder_at_speed_db)
    return [figure for part in parts for figure in part]


def octave_figures(ear):
    """Greatest chance in % that a depth is heard an octave up, and depths named wrongly in %."""
    found = {}
    for speaker in ("flat", "small"):
        sounds = [(ear.law.beep(depth), ear.law.at(depth).pitch_hz) for depth in DEPTHS_MPS]
        chances = [octaves.octave_chance(*sound, speaker=speaker) for sound in sounds]
        excess = [ear.excess(depth, speaker) for depth in DEPTHS_MPS]
        pitches = [pitch for _, pitch in sounds]
        wrong = octaves.wrong_depths(pitches, chances, excess)
        found[speaker] = 100 * max(chances), 100 * wrong
    return found


def change_figures(ear):
    """Of the changes from 0.5, 1 ... 9 m/s: % noticed within 2 s on average, median time in s."""
    climbs = np.arange(1, 19) / 2
    noises = {"quiet": lambda climb: limens.LEVEL_ENOUGH_DB}
    noises["S/N 0"] = ear.above("flat", "pink", 0.0)
    noises["S/N -10"] = ear.above("flat", "pink", -10.0)
    rows = []
    for name, above in noises.items():
        for step in CHANGES_MPS:
            each = [(ear.law, climb, step, above) for climb in climbs]
            share = np.mean([change.share_within(*one, 2.0) for one in each])
            time = np.median([change.time_until_sure(*one) for one in each])
            rows.append((name, step, 100 * float(share), float(time)))
    return rows
