"""The program under test, driven from outside: traces in, tables and WAV files out.

Everything expected here comes from other people's libraries. Of the project's own code only the
program itself is called: the one that CHIRRUP names, else the release build beside this folder.
"""

import csv
import os
import pathlib
import subprocess

import numpy as np
import pytest
import soundfile

ROOT = pathlib.Path(__file__).resolve().parents[2]
PROGRAM = os.environ.get("CHIRRUP", str(ROOT / "target" / "release" / "chirrup"))

G0 = 9.80665
EARTH_RADIUS_M = 6_356_766.0  # US Standard Atmosphere 1976


def geometric(geopotential_m):
    """Geometric height for a geopotential one: both atmosphere libraries take geometric heights."""
    return EARTH_RADIUS_M * geopotential_m / (EARTH_RADIUS_M - geopotential_m)


class Bench:
    """Runs the program in a folder of its own."""

    def __init__(self, folder):
        self.folder = folder

    def run(self, *args):
        done = subprocess.run(
            [PROGRAM, *map(str, args)], cwd=self.folder, capture_output=True, text=True
        )
        assert done.returncode == 0, done.stderr
        return done.stdout

    def trace(self, **columns):
        """Writes a trace with the given columns and returns its name."""
        path = self.folder / "trace.csv"
        with open(path, "w", newline="") as file:
            writer = csv.writer(file)
            writer.writerow(columns)
            writer.writerows(zip(*(np.char.mod("%.9g", column) for column in columns.values())))
        return path

    def readings(self, trace, *args):
        """The table of a replay as arrays; absent values are NaN."""
        table = self.folder / "readings.csv"
        self.run("replay", trace, "--csv", table, *args)
        with open(table, newline="") as file:
            rows = list(csv.DictReader(file))
        number = lambda text: float(text) if text else np.nan
        return {
            name: np.array([number(row[name]) for row in rows])
            for name in rows[0]
            if name != "status"
        }

    def sound(self, trace, *args):
        """The WAV of a replay: samples from -1 to 1, and their rate."""
        wav = self.folder / "sound.wav"
        self.run("replay", trace, "--wav", wav, *args)
        return soundfile.read(wav)


@pytest.fixture
def bench(tmp_path):
    return Bench(tmp_path)
