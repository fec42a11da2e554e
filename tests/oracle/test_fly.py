"""Simulated flights against scipy's integration, numpy's energy balance, and other people's
atmospheres."""

import csv

import ambiance
import fluids.atmosphere
import numpy as np
import pytest
import scipy.integrate
import scipy.optimize

from conftest import G0, geometric

POINTS = [(20.0, 0.67), (27.0, 0.74), (42.0, 1.85)]

GLIDER = """name = "oracle"
about = "a flight for the oracle"
[glider]
name = "Orrin 15"
points = [
  { speed_mps = 20, sink_mps = 0.67 },
  { speed_mps = 27, sink_mps = 0.74 },
  { speed_mps = 42, sink_mps = 1.85 },
]
reference_mass_kg = 360
stall_mps = 12
"""


def drag_polar():
    """a, b, c of D/W = a V^2 + b n + c n^2 / V^2 through the points, by numpy."""
    slope = np.array([sink / speed for speed, sink in POINTS])
    load = np.sqrt(1 - slope**2)
    speed = np.array([speed for speed, _ in POINTS])
    return np.linalg.solve(np.column_stack([speed**2, load, load**2 / speed**2]), slope)


def fly(bench, text, *args):
    """The trace of a scenario as arrays, with its phases."""
    (bench.folder / "flight.toml").write_text(GLIDER + text)
    bench.run("fly", "flight.toml", "-o", "flight.csv", *args)
    with open(bench.folder / "flight.csv", newline="") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    number = lambda text: float(text) if text else np.nan
    names = [name for name in rows[0] if name != "truth_phase"]
    table = {name: np.array([number(row[name]) for row in rows]) for name in names}
    return table | {"phase": np.array([row["truth_phase"] for row in rows])}


def true_airspeed(trace, density):
    """From the impact pressure, by the subsonic pitot relation, on a standard day."""
    pressure = trace["static_pa"]
    sound_squared = 1.4 * pressure / density
    mach_squared = 5 * ((trace["dynamic_pa"] / pressure + 1) ** (2 / 7) - 1)
    return np.sqrt(mach_squared * sound_squared)


def density_at(height_m):
    return ambiance.Atmosphere(geometric(height_m)).density


@pytest.mark.parametrize("start_m", [300, 3000, 6500])
def test_pressures_are_those_of_other_peoples_atmospheres(bench, start_m):
    trace = fly(
        bench,
        f'[start]\nheight_m = {start_m}\n[[leg]]\nphase = "glide"\nfor_s = 60\nspeed_mps = 40\n'
        "[sensors.thermometer]\n",
        "--ideal",
    )
    height = trace["truth_altitude_m"]
    air = ambiance.Atmosphere(geometric(height))
    # The height is written to a centimetre, an eighth of a pascal at most.
    assert trace["static_pa"] == pytest.approx(air.pressure, abs=0.1)
    assert trace["oat_c"] + 273.15 == pytest.approx(air.temperature, abs=0.02)
    other = [fluids.atmosphere.ATMOSPHERE_1976(geometric(h)).P for h in height[::200]]
    assert trace["static_pa"][::200] == pytest.approx(other, rel=2e-5)


def test_the_energy_lost_is_the_drag_of_the_polar_at_every_load(bench):
    trace = fly(
        bench,
        """[start]
height_m = 2000
speed_mps = 28
[[leg]]
phase = "dive"
for_s = 12
speed_mps = 48
acceleration_mps2 = 3
[[leg]]
phase = "pull"
for_s = 12
speed_mps = 25
acceleration_mps2 = 4
most_load = 2.2
[[leg]]
phase = "glide"
for_s = 20
speed_mps = 30
""",
        "--ideal",
        "--sensor-rate",
        "200",
    )
    height, time = trace["truth_altitude_m"], trace["time_s"]
    density = density_at(height)
    speed = true_airspeed(trace, density)
    path = np.arcsin(np.clip(trace["truth_vertical_mps"] / speed, -1, 1))
    load = np.cos(path) + speed * np.gradient(path, time) / G0
    squared = speed**2 * density / 1.225
    a, b, c = drag_polar()
    rate = -speed * (a * squared + b * load + c * load**2 / squared)
    lost = np.concatenate([[0], scipy.integrate.cumulative_trapezoid(rate, time)])
    energy = height + speed**2 / (2 * G0)
    assert np.ptp(height) > 80 and load.max() > 1.8 and load.min() < 0.7
    # Of 70 m or so that drag takes; heights are written to a centimetre.
    assert np.max(np.abs(energy - energy[0] - lost)) < 0.15
    said = np.nansum(trace["truth_climb_mps"][1:] * np.diff(time))
    assert said == pytest.approx(energy[-1] - energy[0], abs=0.05)


def test_a_loop_is_scipys_loop(bench):
    trace = fly(
        bench,
        """[start]
height_m = 1500
speed_mps = 30
[[leg]]
phase = "dive"
for_s = 14
speed_mps = 50
acceleration_mps2 = 3
[[leg]]
phase = "loop"
how = "loop"
most_load = 3
[[leg]]
phase = "after"
for_s = 5
""",
        "--ideal",
        "--sensor-rate",
        "200",
    )
    within = trace["phase"] == "loop"
    height, time = trace["truth_altitude_m"][within], trace["time_s"][within]
    speed = true_airspeed(trace, density_at(trace["truth_altitude_m"]))[within]
    path = np.arcsin(trace["truth_vertical_mps"][within][0] / speed[0])
    # What the load was when the loop began, from the bend of the path before it.
    before = trace["truth_vertical_mps"][~within & (trace["time_s"] < time[0])][-3:]
    load = 1 + np.gradient(before, 0.005).mean() / G0
    a, b, c = drag_polar()

    def motion(_, state):
        v, angle, h, n = state
        squared = v**2 * density_at(h)[0] / 1.225
        drag = a * squared + b * abs(n) + c * n**2 / squared
        # The pilot's pull comes with a lag of 0.3 s.
        return [
            -G0 * (drag + np.sin(angle)),
            G0 * (n - np.cos(angle)) / v,
            v * np.sin(angle),
            (3 - n) / 0.3,
        ]

    done = scipy.integrate.solve_ivp(
        motion,
        (0, time[-1] - time[0]),
        [speed[0], path, height[0], load],
        t_eval=time - time[0],
        rtol=1e-9,
        atol=1e-9,
    )
    assert done.y[1][-1] > 6.0, "it goes round"
    assert np.ptp(height) > 80
    assert np.max(np.abs(done.y[2] - height)) < 1.0
    assert np.max(np.abs(done.y[0] - speed)) < 0.2


def test_a_phugoid_of_the_pilots_making_ends_at_the_speed_of_the_polar(bench):
    # The steady glide is where drag and weight balance: scipy finds the angle, the flight must end
    # there.
    trace = fly(
        bench,
        "[start]\nheight_m = 2500\nspeed_mps = 45\n"
        '[[leg]]\nphase = "glide"\nfor_s = 90\nspeed_mps = 33\n',
        "--ideal",
    )
    a, b, c = drag_polar()
    drag = lambda e: a * 33.0**2 + b * np.cos(e) + c * (np.cos(e) / 33.0) ** 2
    angle = scipy.optimize.brentq(lambda e: drag(e) - np.sin(e), 0.0, 0.5)
    last = trace["time_s"] > 70
    speed = true_airspeed(trace, density_at(trace["truth_altitude_m"]))[last]
    equivalent = speed * np.sqrt(density_at(trace["truth_altitude_m"][last]) / 1.225)
    assert equivalent == pytest.approx(33.0, abs=0.1)
    # A true speed that falls as the air grows denser gives a little back.
    assert trace["truth_climb_mps"][last] == pytest.approx(-speed * np.sin(angle), rel=5e-3)
