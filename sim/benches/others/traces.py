"""The flights that are measured: made up, with the noise of sensors, from a seed."""

import numpy as np


def flight(count, interval_s):
    """Seconds, height in m and impact pressure in Pa of a glider that circles and cruises."""
    time_s = np.arange(count) * interval_s
    height_m = 1_200 + 300 * np.sin(time_s / 300) + 40 * np.sin(time_s / 20)
    return time_s, height_m, 400 + 100 * np.sin(time_s / 7)


def write_csv(path, count):
    """Static and impact pressure at 50 Hz with two decimals, as a logger writes them."""
    rng = np.random.default_rng(1)
    time_s, height_m, dynamic_pa = flight(count, 0.02)
    static_pa = 101_325 * (1 - 2.25577e-5 * height_m) ** 5.25588 + rng.normal(0, 1.2, count)
    dynamic_pa = dynamic_pa + rng.normal(0, 3, count)
    with path.open("w") as file:
        file.write("time_s,static_pa,dynamic_pa\n")
        rows = zip(time_s, static_pa, dynamic_pa)
        file.writelines(f"{time:.2f},{static:.2f},{dynamic:.2f}\n" for time, static, dynamic in rows)


def write_igc(path, hours):
    """A log of one fix a second in the form of the FAI's IGC technical specification, 2020."""
    time_s, height_m, _ = flight(round(3_600 * hours), 1.0)
    with path.open("w") as file:
        file.write("AXXX000\nHFDTE150726\n")
        for second, height in zip(time_s.astype(int) + 36_000, height_m.round().astype(int)):
            clock = f"{second // 3600:02}{second // 60 % 60:02}{second % 60:02}"
            file.write(f"B{clock}4700000N00800000EA{height:05}{height + 40:05}\n")
