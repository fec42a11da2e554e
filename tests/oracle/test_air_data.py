"""Altitude and airspeed against ambiance, fluids and flightcondition."""

import ambiance
import fluids.atmosphere
import numpy as np
import pytest
from flightcondition import FlightCondition, unit

from conftest import geometric

ALTITUDES_M = np.arange(-1000.0, 20_000.1, 250.0)


def altitudes_read(bench, pressures):
    times = np.arange(len(pressures)) * 1.0
    return bench.readings(bench.trace(time_s=times, static_pa=pressures))["altitude_m"]


def test_altitude_is_that_of_ambiances_standard_atmosphere(bench):
    pressures = ambiance.Atmosphere(geometric(ALTITUDES_M)).pressure
    read = altitudes_read(bench, pressures)
    # Worst at 20 000 m, where the trace's nine digits and the f32 together are worth 2 cm.
    assert np.max(np.abs(read - ALTITUDES_M)) < 0.03


def test_altitude_is_that_of_fluids_us_standard_atmosphere_1976(bench):
    atmosphere = fluids.atmosphere.ATMOSPHERE_1976
    pressures = [atmosphere(geometric(altitude)).P for altitude in ALTITUDES_M]
    read = altitudes_read(bench, pressures)
    # fluids holds its constants to fewer digits than the standard: 0.1 m at most.
    assert np.max(np.abs(read - ALTITUDES_M)) < 0.1


@pytest.mark.parametrize("altitude_m", [0.0, 1500.0, 3000.0, 6000.0])
def test_true_airspeed_is_flightconditions(bench, altitude_m):
    speeds = np.array([10.0, 20.0, 30.0, 45.0, 60.0, 80.0])
    height = geometric(altitude_m) * unit.m
    conditions = [FlightCondition(h=height, CAS=speed * unit.m / unit.s) for speed in speeds]
    expected = np.array([condition.TAS.to("m/s").magnitude for condition in conditions]).ravel()
    impact = np.array([condition.q_c.to("Pa").magnitude for condition in conditions]).ravel()
    pressure = np.full_like(speeds, float(ambiance.Atmosphere(geometric(altitude_m)).pressure[0]))
    times = np.arange(len(speeds)) * 1.0
    indicated = bench.trace(time_s=times, static_pa=pressure, ias_mps=speeds)
    from_indicated = bench.readings(indicated)["tas_mps"]
    pitot = bench.trace(time_s=times, static_pa=pressure, dynamic_pa=impact)
    from_pitot = bench.readings(pitot)["tas_mps"]
    assert from_indicated == pytest.approx(expected, rel=2e-4)
    assert from_pitot == pytest.approx(expected, rel=2e-4)
