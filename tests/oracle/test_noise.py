"""The Allan deviation of `chirrup inspect` against allantools."""

import json

import allantools
import numpy as np


def test_the_allan_deviation_is_allantools(bench):
    rng = np.random.default_rng(4)
    times = np.arange(20_000) * 0.02
    pressures = 95_000 + rng.normal(0, 1.2, times.size) + np.cumsum(rng.normal(0, 0.02, times.size))
    trace = bench.trace(time_s=times, static_pa=pressures)
    found = json.loads(bench.run("inspect", trace, "--json"))[0]["static_pressure"]["allan"]
    written = np.array([float("%.9g" % pressure) for pressure in pressures])
    taus, deviations, *_ = allantools.oadev(
        written - written[0], rate=50.0, data_type="freq", taus=[tau for tau, _ in found]
    )
    assert len(taus) == len(found) > 8
    for (tau, deviation), expected_tau, expected in zip(found, taus, deviations):
        assert abs(tau - expected_tau) < 1e-6
        # The trace's pressures are kept as 32-bit floats, in steps of 0.008 Pa.
        assert abs(deviation / expected - 1) < 0.002
