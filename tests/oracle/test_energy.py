"""The compensated reading of the demonstration flight against the derivative of the energy height,
by numpy and scipy."""

import numpy as np
import pytest
import scipy.signal

from conftest import G0


@pytest.fixture
def flight(bench):
    bench.run("demo", "--output", "demo")
    return bench, bench.folder / "demo" / "flight.csv"


def low_pass(values, rate_hz, response_s):
    """The continuous Butterworth low-pass of the given delay, by scipy."""
    w0 = np.sqrt(2) / response_s
    times = np.arange(len(values)) / rate_hz
    system = scipy.signal.TransferFunction([w0**2], [1, np.sqrt(2) * w0, w0**2])
    return scipy.signal.lsim(system, values, times)[1]


@pytest.mark.parametrize("source,most_mps", [("electronic", 0.12), ("probe", 0.35)])
def test_the_reading_is_the_low_passed_rate_of_the_energy_height(flight, source, most_mps):
    bench, trace = flight
    readings = bench.readings(trace, "--energy", source, "--settings", "filter=fixed")
    energy_m = readings["altitude_m"] + readings["tas_mps"] ** 2 / (2 * G0)
    expected = low_pass(np.gradient(energy_m, 0.05), 20.0, 1.0)
    airborne = (readings["time_s"] > 60.0) & (readings["time_s"] < 450.0)
    error = (readings["te_vertical_speed_mps"] - expected)[airborne]
    # Electronic: the same sum, so only the sampling differs. Probe: another sensor with its own
    # noise, and p - q is not quite linear in height.
    assert np.sqrt(np.mean(error**2)) < most_mps


def test_the_average_is_the_energy_gained_in_its_time(flight):
    bench, trace = flight
    readings = bench.readings(trace, "--energy", "electronic", "--settings", "filter=fixed")
    energy_m = readings["altitude_m"] + readings["tas_mps"] ** 2 / (2 * G0)
    gained = (energy_m[400:] - energy_m[:-400]) / 20.0
    airborne = (readings["time_s"][400:] > 80.0) & (readings["time_s"][400:] < 450.0)
    # The average uses the filtered height, whose error against a noisy or accelerating one is a
    # metre or so of 20 s.
    assert np.max(np.abs(readings["average_mps"][400:] - gained)[airborne]) < 0.12
