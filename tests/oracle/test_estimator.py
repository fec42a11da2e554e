"""The vertical-speed filter against scipy's continuous filter and filterpy's Kalman filter."""

import ambiance
import numpy as np
import pytest
import scipy.signal
from filterpy.kalman import KalmanFilter

from conftest import geometric


def pressures(heights_m):
    return ambiance.Atmosphere(geometric(heights_m)).pressure


@pytest.mark.parametrize("response_s", [0.5, 1.0, 2.0])
def test_a_step_of_climb_is_read_as_by_a_butterworth_low_pass(bench, response_s):
    rate_hz = 100.0
    times = np.arange(0.0, 40.0, 1 / rate_hz)
    climb = np.where(times >= 20.0, 3.0, 0.0)
    heights = 500.0 + np.concatenate([[0.0], np.cumsum(climb[:-1]) / rate_hz])
    read = bench.readings(
        bench.trace(time_s=times, static_pa=pressures(heights)), "--settings", f"response_s={response_s}"
    )["vertical_speed_mps"]
    w0 = np.sqrt(2) / response_s
    filter_ = scipy.signal.TransferFunction([w0**2], [1, np.sqrt(2) * w0, w0**2])
    _, expected, _ = scipy.signal.lsim(filter_, climb, times)
    late = times > 15.0
    # Two samples in time, or 2 % of the step at the smallest response, is what sampling may cost.
    assert np.max(np.abs(read[late] - expected[late])) < 0.06 * 0.5 / response_s


@pytest.mark.parametrize("rate_hz,sigma_m", [(20.0, 0.1), (50.0, 0.03), (50.0, 0.1), (100.0, 0.3)])
def test_the_reading_is_that_of_filterpys_steady_kalman_filter(bench, rate_hz, sigma_m):
    response_s, dt = 1.0, 1 / rate_hz
    rng = np.random.default_rng(7)
    times = np.arange(0.0, 200.0, dt)
    heights = 800.0 + 20.0 * np.sin(times / 9.0) + sigma_m * rng.standard_normal(len(times))
    read = bench.readings(
        bench.trace(time_s=times, static_pa=pressures(heights)), "--settings", f"response_s={response_s}"
    )["vertical_speed_mps"]
    # The continuous theory: w0 = (q / r)^(1/4), r = sigma^2 dt, delay sqrt(2) / w0. A sampled filter answers with the
    # newest sample, half a step ahead of the continuous one, so the same delay is that of a w0 half a step slower.
    q = (np.sqrt(2) / (response_s + dt / 2)) ** 4 * sigma_m**2 * dt
    kalman = KalmanFilter(dim_x=2, dim_z=1)
    kalman.x = np.array([[heights[0]], [0.0]])
    kalman.F = np.array([[1, dt], [0, 1]])
    kalman.H = np.array([[1.0, 0.0]])
    kalman.R = np.array([[sigma_m**2]])
    kalman.Q = q * np.array([[dt**3 / 3, dt**2 / 2], [dt**2 / 2, dt]])
    kalman.P = np.diag([sigma_m**2, 100.0])
    expected = []
    for height in heights:
        kalman.predict()
        kalman.update(height)
        expected.append(kalman.x[1, 0])
    settled = times > 20.0
    difference = np.std(read[settled] - np.array(expected)[settled])
    noise = np.sqrt(kalman.P[1, 1])  # The filter's own account of the reading's error.
    assert difference < 0.05 * noise
