"""Noise of the wind by airspeed.

It grows by 18 dB for each doubling of the airspeed (the sixth power, as the noise of unsteady flow
on a body does: Curle 1955; measured in cars, not in sailplanes). A guess: at 100 km/h it is as loud
as the reference beep (S/N 0).
"""

import numpy as np

DB_PER_DOUBLING = 18.0
EVEN_KMH = 100.0


def signal_to_noise_db(airspeed_kmh):
    """S/N of the reference beep in the wind-like noise of an airspeed."""
    return -DB_PER_DOUBLING * float(np.log2(airspeed_kmh / EVEN_KMH))
