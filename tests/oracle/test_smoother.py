"""The smoother of `chirrup inspect --csv` against filterpy's Kalman filter and its
Rauch-Tung-Striebel smoother."""

import csv
import re

import numpy as np
from filterpy.kalman import KalmanFilter


def test_the_smoothed_rate_is_filterpys(bench):
    trace, smooth = bench.folder / "flight.csv", bench.folder / "smooth.csv"
    bench.run("fly", "pull-ups", "-o", trace)
    bench.run("inspect", trace, "--csv", smooth)
    head, *lines = smooth.read_text().splitlines()
    q, r = (float(value) for value in re.findall(r"= ([-0-9.e]+) m2", head))
    rows = list(csv.DictReader(lines))
    column = lambda name: np.array([float(row[name]) for row in rows])
    times, heights = column("time_s"), column("energy_height_m")
    dt = np.diff(times).mean()
    assert np.ptp(np.diff(times)) < 2e-6

    filter_ = KalmanFilter(dim_x=2, dim_z=1)
    filter_.F = np.array([[1.0, dt], [0.0, 1.0]])
    filter_.H = np.array([[1.0, 0.0]])
    filter_.Q = q * np.array([[dt**3 / 3, dt**2 / 2], [dt**2 / 2, dt]])
    filter_.R = np.array([[r]])
    # As ours begins: at the first height, with its variance, and no idea of the vertical speed.
    filter_.x = np.array([[heights[0]], [0.0]])
    filter_.P = np.diag([r, 1e6 * r])
    means, covariances = [filter_.x.copy()], [filter_.P.copy()]
    for height in heights[1:]:
        filter_.predict()
        filter_.update(height)
        means.append(filter_.x.copy())
        covariances.append(filter_.P.copy())
    smoothed, *_ = filter_.rts_smoother(np.array(means), np.array(covariances))
    assert np.abs(smoothed[:, 0, 0] - column("smoothed_m")).max() < 1e-4
    assert np.abs(smoothed[:, 1, 0] - column("smoothed_mps")).max() < 1e-4
