"""Does the installed wheel replay as the program does? python wheel.py FLIGHT.CSV ROWS.CSV

FLIGHT.CSV is the trace, ROWS.CSV what `chirrup replay FLIGHT.CSV --csv ROWS.CSV` wrote.
"""

import csv
import math
import sys

import chirrup

replayed = chirrup.read_trace(sys.argv[1]).replay()
with open(sys.argv[2], newline="") as file:
    rows = list(csv.DictReader(file))
compared = 0
for column, decimals in (("altitude_m", 3), ("te_vertical_speed_mps", 4), ("tone_hz", 2)):
    values = replayed[column]
    assert len(values) == len(rows), f"{len(values)} rows, and the program's {len(rows)}"
    for row, value in zip(rows, values):
        text = "" if math.isnan(value) else f"{float(value):.{decimals}f}"
        assert text == row[column], f"{column} at {row['time_s']} s: {text}, {row[column]}"
        compared += bool(text)
assert compared > 20_000, f"only {compared} figures were compared"
print(f"{compared} figures of the wheel are the program's")
