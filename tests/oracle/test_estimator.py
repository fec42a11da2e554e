"""The vertical-speed filter against scipy's continuous filter and filterpy's Kalman filter."""

import ambiance
import numpy as np
import pytest
import scipy.linalg
import scipy.optimize
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
        bench.trace(time_s=times, static_pa=pressures(heights)),
        "--settings",
        f"filter=fixed,response_s={response_s}",
    )["vertical_speed_mps"]
    w0 = np.sqrt(2) / response_s
    filter_ = scipy.signal.TransferFunction([w0**2], [1, np.sqrt(2) * w0, w0**2])
    _, expected, _ = scipy.signal.lsim(filter_, climb, times)
    late = times > 15.0
    # Two samples in time, or 2 % of the step at the smallest response, is what sampling may cost.
    assert np.max(np.abs(read[late] - expected[late])) < 0.06 * 0.5 / response_s


def steady_gain(q, dt, sigma_m):
    """The steady Kalman gain for white acceleration noise of density q, by scipy's Riccati
    solver."""
    transition = np.array([[1, dt], [0, 1]])
    noise = q * np.array([[dt**3 / 3, dt**2 / 2], [dt**2 / 2, dt]])
    measured = np.array([[1.0, 0.0]])
    variance = np.array([[sigma_m**2]])
    predicted = scipy.linalg.solve_discrete_are(transition.T, measured.T, noise, variance)
    return transition, noise, (predicted @ measured.T / (predicted[0, 0] + sigma_m**2))[:, 0]


def delay_s(q, dt, sigma_m):
    """The delay of that filter's velocity under a steady acceleration: its error over the
    acceleration."""
    transition, _, gain = steady_gain(q, dt, sigma_m)
    # Truth moves by [dt^2 / 2, dt] a step at unit acceleration; the error is a fixed point.
    keep = np.eye(2) - np.outer(gain, [1.0, 0.0])
    step = np.array([dt**2 / 2, dt])
    error = np.linalg.solve(np.eye(2) - keep @ transition, keep @ step)
    return error[1]


def density_for(response_s, dt, sigma_m):
    """The q whose steady filter has the delay `response_s`."""
    apart = lambda log_q: delay_s(np.exp(log_q), dt, sigma_m) - response_s
    return np.exp(scipy.optimize.brentq(apart, np.log(1e-7), np.log(1e4)))


@pytest.mark.parametrize("sigma_m", [0.02, 0.1, 0.3])
@pytest.mark.parametrize("rate_hz", [1.0, 5.0, 10.0, 20.0, 50.0, 100.0])
def test_the_reading_is_that_of_filterpys_steady_kalman_filter(bench, rate_hz, sigma_m):
    response_s, dt = 1.0, 1 / rate_hz
    rng = np.random.default_rng(7)
    times = np.arange(0.0, max(100.0, 500 * dt), dt)
    heights = 800.0 + 20.0 * np.sin(times / 9.0) + sigma_m * rng.standard_normal(len(times))
    read = bench.readings(
        bench.trace(time_s=times, static_pa=pressures(heights)),
        "--settings",
        f"filter=fixed,response_s={response_s}",
    )["vertical_speed_mps"]
    q = density_for(response_s, dt, sigma_m)
    kalman = KalmanFilter(dim_x=2, dim_z=1)
    kalman.x = np.array([[heights[0]], [0.0]])
    kalman.F, kalman.Q, _ = steady_gain(q, dt, sigma_m)
    kalman.H = np.array([[1.0, 0.0]])
    kalman.R = np.array([[sigma_m**2]])
    kalman.P = np.diag([sigma_m**2, 100.0])
    expected = []
    for height in heights:
        kalman.predict()
        kalman.update(height)
        expected.append(kalman.x[1, 0])
    settled = times > 30.0
    difference = np.std(read[settled] - np.array(expected)[settled])
    # The filter's own account of the reading's error. What is left is the f32's and the trace's
    # last digit, a millimetre or so of height.
    noise = np.sqrt(kalman.P[1, 1])
    assert difference < max(0.01 * noise, 0.003)


@pytest.mark.parametrize("rate_hz", [5.0, 20.0, 100.0])
def test_uneven_steps_cost_little_against_a_kalman_filter_that_knows_them(bench, rate_hz):
    """Time steps that jitter by half: the error of the reading is within 5 % of the time-varying
    filter's."""
    response_s, sigma_m, mean_dt = 1.0, 0.1, 1 / rate_hz
    rng = np.random.default_rng(11)
    steps = mean_dt * rng.uniform(0.5, 1.5, int(800 * rate_hz))
    steps = np.round(steps, 6)
    q = density_for(response_s, mean_dt, sigma_m)
    # A vertical speed that wanders as the filter believes: the truth of a trace, exact between
    # samples.
    height, climb, heights, climbs = 1500.0, 0.0, [], []
    for dt in steps:
        wander = q * np.array([[dt**3 / 3, dt**2 / 2], [dt**2 / 2, dt]])
        noise = np.linalg.cholesky(wander) @ rng.standard_normal(2)
        # Pulled back gently, so that the trace stays in the atmosphere; a thousandth of what the
        # filter sees in a second.
        height, climb = height + climb * dt + noise[0], climb * (1 - 1e-3 * dt) + noise[1]
        heights.append(height)
        climbs.append(climb)
    times, heights, climbs = np.cumsum(steps), np.array(heights), np.array(climbs)
    measured = heights + sigma_m * rng.standard_normal(len(heights))
    read = bench.readings(
        bench.trace(time_s=times, static_pa=pressures(measured)),
        "--settings",
        f"filter=fixed,response_s={response_s}",
    )["vertical_speed_mps"]
    state, covariance, expected = np.array([measured[0], 0.0]), np.diag([sigma_m**2, 100.0]), []
    for dt, z in zip(steps, measured):
        transition = np.array([[1, dt], [0, 1]])
        state = transition @ state
        wander = q * np.array([[dt**3 / 3, dt**2 / 2], [dt**2 / 2, dt]])
        covariance = transition @ covariance @ transition.T + wander
        gain = covariance[:, 0] / (covariance[0, 0] + sigma_m**2)
        state = state + gain * (z - state[0])
        covariance = covariance - np.outer(gain, covariance[0])
        expected.append(state[1])
    settled = slice(500, None)
    error = np.std(read[settled] - climbs[settled])
    least = np.std(np.array(expected)[settled] - climbs[settled])
    assert error < 1.05 * least
