"""What one would write with libraries, each measured by itself: CPU seconds of the work as JSON.

    libraries.py pandas_scipy|polars_numba|polars_write|pandas_write TRACE
"""

import io
import json
import sys
import time

#: Response of the filter in s, and the interval of the samples.
RESPONSE_S, DT_S = 1.0, 0.02
SEA_PA, HEIGHT_M, EXPONENT, GRAVITY, GAS = 101_325.0, 44_330.769, 0.190263, 9.80665, 287.05287


def energy_height(static_pa, dynamic_pa):
    """Pressure height and the height that the speed is worth, m; of numbers or arrays."""
    height_m = HEIGHT_M * (1.0 - (static_pa / SEA_PA) ** EXPONENT)
    density = static_pa / (GAS * (288.15 - 0.0065 * height_m))
    return height_m + dynamic_pa / (density * GRAVITY)


def pandas_scipy(trace):
    import pandas as pd
    from scipy import signal

    # The derivative behind a critically damped low pass of second order, by the bilinear transform.
    second = [RESPONSE_S**2, 2 * RESPONSE_S, 1.0]
    filter_ = signal.bilinear([1.0, 0.0], second, 1 / DT_S)

    def work():
        table = pd.read_csv(trace)
        height_m = energy_height(table["static_pa"].to_numpy(), table["dynamic_pa"].to_numpy())
        return signal.lfilter(*filter_, height_m - height_m[0])

    return measured(work)


def polars_numba(trace):
    import numba
    import numpy as np
    import polars as pl

    energy = numba.njit(energy_height)

    @numba.njit
    def climb(static_pa, dynamic_pa):
        speeds = np.empty(len(static_pa))
        height = energy(static_pa[0], dynamic_pa[0])
        speed, decay = 0.0, np.exp(-DT_S / RESPONSE_S)
        for place in range(len(static_pa)):
            height += speed * DT_S
            error = energy(static_pa[place], dynamic_pa[place]) - height
            height += (1 - decay * decay) * error
            speed += (1 - decay) ** 2 / DT_S * error
            speeds[place] = speed
        return speeds

    climb(np.ones(3) * 9e4, np.ones(3))

    def work():
        table = pl.read_csv(trace)
        return climb(table["static_pa"].to_numpy(), table["dynamic_pa"].to_numpy())

    return measured(work)


def readings():
    """A table as wide as that of the readings."""
    import numpy as np

    rng = np.random.default_rng(1)
    names = ["time_s", "altitude_m", "altimeter_m", "tas_mps", "vertical_speed_mps", "te_mps"]
    names += ["average_mps", "climb_average_mps", "climb_gain_m", "tone_hz", "cadence_hz"]
    return {name: rng.normal(0, 30, 300_000).astype(np.float32) for name in names}


def polars_write(_trace):
    import polars as pl

    table = pl.DataFrame(readings())
    return measured(lambda: written(lambda text: table.write_csv(text, float_precision=4), io.BytesIO))


def pandas_write(_trace):
    import pandas as pd

    table = pd.DataFrame(readings())
    return measured(
        lambda: written(lambda text: table.to_csv(text, index=False, float_format="%.4f"), io.StringIO)
    )


def written(write, room):
    text = room()
    write(text)
    return text.tell()


def measured(work):
    """CPU seconds of `work`, and what it returned where that is a number of bytes."""
    began = time.process_time()
    result = work()
    cpu_s = time.process_time() - began
    return {"cpu_s": cpu_s, "bytes": result if isinstance(result, int) else 0}


if __name__ == "__main__":
    print(json.dumps(globals()[sys.argv[1]](sys.argv[2])))
