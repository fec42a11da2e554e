"""The program's law: its table (`chirrup tone --json`) and its sound (`chirrup tone --wav`)."""

import json
import pathlib
import subprocess
import tempfile
from dataclasses import dataclass

import numpy as np
import soundfile

from ear.calibration import RATE
from ear.masking import one_sound, sounds

# Of the program's table, what a Point holds.
COLUMNS = ("value_mps", "pitch_hz", "cadence_hz", "beep_s", "level_db")


@dataclass(frozen=True)
class Point:
    """A row of the table; cadence and length are None for the unbroken tone."""

    climb_mps: float
    pitch_hz: float
    cadence_hz: float | None
    beep_s: float | None
    level_db: float


class Law:
    """A law as the program tells and plays it; `settings` (`key=value`, or a file) change its own.

    `rows` is the program's table by value, `points` what of it sounds.
    """

    def __init__(self, program, settings=(), options=()):
        self.program = str(program)
        self.options = [part for each in settings for part in ("--settings", each)]
        self.options += list(options)
        rows = json.loads(self._run("--json"))["rows"]
        self.rows = {round(row["value_mps"], 1): row for row in rows}
        self.points = {
            value: Point(*(row[name] for name in COLUMNS))
            for value, row in self.rows.items()
            if row["pitch_hz"] is not None
        }
        self._sounds = {}

    def _run(self, *arguments):
        command = [self.program, "tone", *map(str, arguments), *self.options]
        done = subprocess.run(command, capture_output=True, text=True)
        if done.returncode != 0:
            raise RuntimeError(f"{' '.join(command)}: {done.stderr}")
        return done.stdout

    def at(self, climb_mps):
        """The row of a vertical speed, which is a whole number of tenths."""
        return self.points[round(climb_mps, 1)]

    def wav(self, climb_mps, seconds):
        """The program's own sound, samples from -1 to 1."""
        return self._played("--at", f"{climb_mps:.1f}", "--seconds", seconds)

    def fault_call(self):
        """The notes of the program's own fault call."""
        return sounds(self._played("--fault", "--seconds", 2))

    def pair(self, value):
        """The two notes of the program's own pair, in a cruise mode."""
        return sounds(self.wav(value, 1.0))[:2]

    def _played(self, *what):
        with tempfile.TemporaryDirectory() as folder:
            path = pathlib.Path(folder) / "tone.wav"
            self._run(*what, "--sound-rate", RATE, "--wav", path)
            samples, rate = soundfile.read(path)
        assert rate == RATE
        return samples

    def beep(self, climb_mps):
        """One beep (or 1.2 s of the unbroken tone) of the program's own sound."""
        key = round(climb_mps, 1)
        if key not in self._sounds:
            self._sounds[key] = one_sound(self.wav(key, 1.2))
        return self._sounds[key]

    def length_s(self, climb_mps):
        """Length of a beep as it sounds, edges included."""
        return len(self.beep(climb_mps)) / RATE

    def share_of_time(self, climb_mps):
        """Share of the time that sounds, by the table."""
        point = self.at(climb_mps)
        return 1.0 if point.cadence_hz is None else point.cadence_hz * point.beep_s


def tenths(first, last):
    """Vertical speeds from first to last, every tenth."""
    return np.arange(round(first * 10), round(last * 10) + 1) / 10
