"""The first steps of the book, with nothing installed but the wheel and numpy."""

import sys

import numpy as np

import chirrup

time = np.arange(0.0, 60.0, 0.05)
static = 90_000.0 - 11.0 * 2.0 * time

columns = chirrup.replay(time, static)
climb_mps = columns["vertical_speed_mps"][-1]
# 11 Pa/m is a rounded figure of the air at that height.
assert 1.9 < climb_mps < 2.2, climb_mps

samples, rate_hz = chirrup.render(time, static, settings={"response_s": 0.6})
assert len(samples) > 59 * rate_hz
assert np.abs(samples).max() > 1_000

flight = chirrup.fly("pull-ups", seed=3)
assert len(flight.replay()["time_s"]) == len(flight["time_s"])

loaded = [name for name in ("pandas", "polars", "pyarrow", "scipy") if name in sys.modules]
assert not loaded, loaded
