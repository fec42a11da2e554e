"""The package gives what the program writes, bit for bit, for any trace."""

from __future__ import annotations

import csv
import re
import wave
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

import chirrup
from conftest import Run

# The columns of a CSV by the names of the channels.
NAMES = {
    "time": "time_s",
    "static": "static_pa",
    "dynamic": "dynamic_pa",
    "ias": "ias_mps",
    "tas": "tas_mps",
    "te": "te_pa",
    "oat": "oat_c",
    "accel_x": "accel_x_mps2",
    "accel_y": "accel_y_mps2",
    "accel_z": "accel_z_mps2",
    "gyro_x": "gyro_x_radps",
    "gyro_y": "gyro_y_radps",
    "gyro_z": "gyro_z_radps",
    "gnss_vn": "gnss_vn_mps",
    "gnss_ve": "gnss_ve_mps",
    "gnss_vd": "gnss_vd_mps",
    "gnss_age": "gnss_age_s",
}
INERTIAL = {"accel_x": 0.5, "accel_y": 0.2, "accel_z": 1.0, "gyro_x": 0.1, "gyro_y": 0.1}
GROUND = {"gnss_vn": 20.0, "gnss_ve": 20.0, "gnss_vd": 3.0}

SETTINGS = st.sampled_from(
    [
        "response_s=0.6",
        "filter=fixed,tone.volume=3",
        "energy=none",
        "vertical_speed=corrected,tone.climb_from_mps=0.4",
        "inertial=off",
    ]
)


@dataclass
class Random:
    """A random trace, the settings and the rate of its sound."""

    channels: dict[str, NDArray[np.float64]]
    settings: str
    rate_hz: int

    def write(self, path: Path) -> None:
        """Writes it as CSV, an empty field for NaN."""
        with path.open("w", newline="") as file:
            rows = csv.writer(file)
            rows.writerow(NAMES[name] for name in self.channels)
            for row in zip(*self.channels.values(), strict=True):
                rows.writerow("" if np.isnan(value) else repr(float(value)) for value in row)


@st.composite
def traces(draw: st.DrawFn) -> Random:
    """A flight of some seconds with what sensors and recorders do to it.

    Hypothesis draws the kind of the trace; the numbers come from a seed, which it draws too.
    """
    random = np.random.default_rng(draw(st.integers(0, 2**32)))
    count = draw(st.integers(2, 250))
    step_s = draw(st.sampled_from([0.02, 0.05, 0.25, 1.0]))
    steps = step_s * random.uniform(0.5, 1.5, count)
    if draw(st.booleans()):
        # The trace is cut: a gap of more than ten minutes.
        steps[random.integers(count)] += 700.0
    time = np.cumsum(steps) + draw(st.sampled_from([0.0, -3.0, 86_400.0]))
    if draw(st.booleans()):
        time = np.round(time, 3)
    climb = np.cumsum(random.normal(0.0, draw(st.sampled_from([0.0, 0.3, 3.0])), count))
    static = 90_000.0 - 11.0 * np.cumsum(climb * step_s) + random.normal(0.0, 1.5, count)
    channels = {"time": time, "static": np.clip(static, 20_000.0, 114_000.0)}
    speed = 30.0 + np.cumsum(random.normal(0.0, 0.4, count))
    airspeed = draw(st.sampled_from(["", "dynamic", "ias", "tas"]))
    if airspeed == "dynamic":
        channels["dynamic"] = 0.55 * speed * np.abs(speed)
    elif airspeed:
        channels[airspeed] = np.abs(speed)
    if draw(st.booleans()):
        channels["te"] = channels["static"] - 0.55 * speed**2
    if draw(st.booleans()):
        channels["oat"] = random.uniform(-20.0, 30.0) + random.normal(0.0, 0.1, count)
    if draw(st.booleans()):
        for name, spread in INERTIAL.items():
            channels[name] = random.normal(-9.8 if name == "accel_z" else 0.0, spread, count)
        channels["gyro_z"] = random.normal(0.0, 0.1, count)
        if draw(st.booleans()):
            for name, spread in GROUND.items():
                channels[name] = random.normal(0.0, spread, count)
            channels["gnss_age"] = random.uniform(0.0, 0.4, count)
    spoil(draw, random, channels)
    rate_hz = draw(st.sampled_from([8_000, 22_050, 24_000]))
    return Random(channels, draw(SETTINGS), rate_hz)


def spoil(
    draw: st.DrawFn, random: np.random.Generator, channels: dict[str, NDArray[np.float64]]
) -> None:
    """Takes values away, and puts impossible ones in."""
    for name in [*channels][1:]:
        if draw(st.integers(0, 3)) == 0:
            channels[name][random.random(len(channels[name])) < 0.2] = np.nan
    if draw(st.integers(0, 3)) == 0:
        channels["static"][random.integers(len(channels["static"]))] = 3.0
    if draw(st.integers(0, 7)) == 0:
        channels["static"][len(channels["static"]) // 2 :] = 91_234.5


def texts(columns: chirrup.Columns) -> list[list[str]]:
    """The rows as the program's CSV has them, by Python's own printing."""

    def text(name: str, value: Any) -> str:
        if value is None or value != value:
            return ""
        if name == "time_s":
            # To the microsecond, without zeros at the end.
            return f"{value:.6f}".rstrip("0").rstrip(".")
        if name == "sounding":
            return str(int(value))
        if isinstance(value, str):
            return value
        return f"{float(value):.{chirrup.DECIMALS[name]}f}"

    lists = [[text(name, value) for value in column] for name, column in columns.items()]
    return [list(columns), *(list(row) for row in zip(*lists, strict=True))]


def wav(path: Path) -> tuple[bytes, int]:
    with wave.open(str(path), "rb") as file:
        assert (file.getnchannels(), file.getsampwidth()) == (1, 2)
        return file.readframes(file.getnframes()), file.getframerate()


@given(trace=traces())
def test_arrays_and_files_give_what_the_program_writes(
    trace: Random, program: Run, tmp_path_factory: Any
) -> None:
    folder = tmp_path_factory.mktemp("trace")
    path, readings, sound = folder / "trace.csv", folder / "readings.csv", folder / "sound.wav"
    trace.write(path)
    ran = program(
        *("replay", path, "--csv", readings, "--wav", sound, "--settings", trace.settings),
        *("--sound-rate", str(trace.rate_hz)),
    )
    channels: dict[str, Any] = trace.channels
    if ran.returncode != 0:
        # Nothing of it can be used, and each says so; of which lines only the program knows all.
        nothing = re.compile("found no (usable )?sample")
        assert nothing.search(ran.stderr)
        with pytest.raises(chirrup.Error, match=nothing):
            chirrup.read_trace(path).replay(trace.settings)
        with pytest.raises(chirrup.Error, match=nothing):
            chirrup.replay(**channels, settings=trace.settings, nan_is_absent=True)
        return
    with readings.open(newline="") as file:
        expected = list(csv.reader(file))
    replayed = chirrup.replay(**channels, settings=trace.settings, nan_is_absent=True)
    assert texts(replayed) == expected
    read = chirrup.read_trace(path)
    assert texts(read.replay(trace.settings)) == expected
    samples, rate_hz = chirrup.render(
        **channels, settings=trace.settings, rate_hz=trace.rate_hz, nan_is_absent=True
    )
    assert (samples.tobytes(), rate_hz) == wav(sound)
    assert read.render(trace.settings, rate_hz=trace.rate_hz).samples.tobytes() == wav(sound)[0]
    for file_made in (path, readings, sound):
        file_made.unlink()


def test_every_recording_gives_what_the_program_writes(
    program: Run, recordings: Path, tmp_path: Path
) -> None:
    paths = sorted([*recordings.glob("*.csv"), *recordings.glob("*.igc")])
    assert len(paths) > 10
    for path in paths:
        readings = tmp_path / "readings.csv"
        ran = program("replay", path, "--csv", readings)
        assert ran.returncode == 0, ran.stderr
        with readings.open(newline="") as file:
            expected = list(csv.reader(file))
        assert texts(chirrup.read_trace(path).replay()) == expected, path.name


def test_a_flight_is_the_one_that_the_program_flies(program: Run, tmp_path: Path) -> None:
    flight = tmp_path / "flight.csv"
    options = ["--seed", "7", "--sensor-rate", "20", "--calm"]
    assert program("fly", "pull-ups", "-o", flight, *options).returncode == 0
    kept = tmp_path / "kept.csv"
    flown = chirrup.fly("pull-ups", seed=7, sensor_rate_hz=20, calm=True, output=kept)
    assert kept.read_bytes() == flight.read_bytes()
    read = chirrup.read_trace(flight)
    assert list(flown) == list(read)
    for name in read:
        np.testing.assert_array_equal(flown[name], read[name])
    assert flown.report["samples"] == len(flown["time_s"])


def test_the_version_is_the_programs(program: Run) -> None:
    assert program("--version").stdout.split()[:2] == ["chirrup", chirrup.__version__]
