"""The volume by airspeed, in the WAV of a replay; levels by numpy."""

import numpy as np
import pytest

from test_estimator import pressures

# Density of the standard atmosphere at sea level, kg/m3: an indicated airspeed is one in this air.
SEA_LEVEL_DENSITY = 1.225
QUIETEST_DB = -120.0


def level_db(bench, climb_mps, airspeed_mps, *settings):
    """Greatest level of seconds 8 to 14 of a steady climb at an indicated airspeed."""
    times = np.arange(0.0, 15.0, 0.02)
    columns = {"time_s": times, "static_pa": pressures(900.0 + climb_mps * times)}
    if airspeed_mps is not None:
        dynamic_pa = SEA_LEVEL_DENSITY * airspeed_mps**2 / 2
        columns["dynamic_pa"] = np.full(len(times), dynamic_pa)
    samples, rate = bench.sound(bench.trace(**columns), "--sound-rate", 48_000, *settings)
    greatest = np.max(np.abs(samples[8 * rate : 14 * rate]))
    return max(20 * np.log10(max(greatest, 1e-9)), QUIETEST_DB)


@pytest.mark.parametrize("climb", [2.0, -4.0])
def test_slow_flight_is_7_db_softer_in_climb_and_in_sink(bench, climb):
    fast = level_db(bench, climb, 50.0)
    assert fast - level_db(bench, climb, 22.0) == pytest.approx(7.0, abs=0.1)
    # Half of it half an octave below 160 km/h, and none of it where no airspeed is known.
    assert fast - level_db(bench, climb, 31.4) == pytest.approx(3.5, abs=0.1)
    assert fast - level_db(bench, climb, None) == pytest.approx(0.0, abs=0.1)


def test_no_airspeed_makes_it_louder_than_the_volume(bench):
    # Volume 8 is 6 dB below full scale, and the loudest of all sounds is at the volume.
    for airspeed in (15.0, 44.4, 60.0, 80.0):
        assert level_db(bench, 0.3, airspeed) <= -6.0 + 0.05


def test_it_can_be_turned_off_and_silence_stays_silence(bench):
    off = "--settings", "tone.softer_when_slow_db=0"
    slow, fast = level_db(bench, 2.0, 22.0, *off), level_db(bench, 2.0, 50.0, *off)
    assert slow == pytest.approx(fast, abs=0.05)
    assert level_db(bench, 2.0, 50.0, "--settings", "tone.volume=0") == QUIETEST_DB
