#!/usr/bin/env python3
"""What the core's examples made: a WAV that is silent and then beeps, and a table of registers."""

import array
import pathlib
import sys
import wave

folder = pathlib.Path(sys.argv[1])

with wave.open(str(folder / "climb.wav")) as sound:
    rate, frames = sound.getframerate(), sound.getnframes()
    samples = array.array("h", sound.readframes(frames))
assert frames == 60 * rate, f"climb.wav lasts {frames / rate} s, expected 60"
assert not any(samples[: 20 * rate]), "climb.wav is not silent before the climb begins"


def turns(start_s):
    """How often the wave crosses zero upward within a second: its pitch while it sounds."""
    second = samples[start_s * rate : (start_s + 1) * rate]
    return sum(1 for before, now in zip(second, second[1:]) if before < 0 <= now)


assert 100 < turns(24) < turns(50), f"the climb does not rise in pitch: {turns(24)}, {turns(50)}"

lines = (folder / "pwm.txt").read_text().splitlines()
rows = [line.split() for line in lines[2:]]
opens = [row for row in rows if row[3] != "0"]
assert len(opens) > 10 and len(opens) - 1 <= len(rows) - len(opens) <= len(opens), "no even beeps"
# At 2 m/s the default law beeps at 888 Hz, 1.92 times a second (docs/src/settings.md).
assert all(abs(float(row[1]) - 888) < 5 for row in opens[2:]), opens[:5]
pace = (float(opens[-1][0]) - float(opens[2][0])) / (len(opens) - 3)
assert abs(pace - 1 / 1.92) < 0.01, f"{pace} s from beep to beep"
print("the examples do what they say")
