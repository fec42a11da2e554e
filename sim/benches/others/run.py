#!/usr/bin/env python3
"""How fast the program is, beside what else one would take: CPU seconds, in one run, interleaved.

    just speed                                  makes the environment, builds, measures, prints
    sim/benches/others/run.py --json FILE       the same figures as JSON too

Every round runs every contestant once, so that a busy machine disturbs all alike; the least of the
rounds counts. Of the program the CPU seconds of the whole process count; of the libraries those of
the work alone, without imports and without numba's compilation, on one thread. What the libraries
do is less: a fixed filter of second order, no checks, no doubts, no averages, no netto.
"""

import argparse
import json
import os
import resource
import subprocess
import sys
import tempfile
from pathlib import Path

import traces

HERE = Path(__file__).resolve().parent
CONTESTANTS = ["pandas_scipy", "polars_numba", "polars_write", "pandas_write"]
#: What issue and documents ask for; a ratio of 1 is met.
SAMPLES_A_SECOND = 5e6
MEGABYTES_A_SECOND = 300.0
IGC_SECONDS = 0.050
EIGHT_A_SECOND = 10e6


def cpu_of(command):
    """CPU seconds of a program, its output discarded; those of the kernel count too."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return (after.ru_utime + after.ru_stime) - (before.ru_utime + before.ru_stime)


def other(name, trace):
    """CPU seconds of a contestant's work, as it measures them itself."""
    one_thread = dict.fromkeys(
        ["POLARS_MAX_THREADS", "OMP_NUM_THREADS", "NUMBA_NUM_THREADS", "OPENBLAS_NUM_THREADS"], "1"
    )
    command = [sys.executable, HERE / "libraries.py", name, trace]
    done = subprocess.run(command, check=True, capture_output=True, env=os.environ | one_thread)
    return json.loads(done.stdout)


def measured(program, eight, folder, samples, rounds):
    """The least of the rounds, for every contestant."""
    trace, igc = folder / "trace.csv", folder / "flight.igc"
    traces.write_csv(trace, samples)
    traces.write_igc(igc, hours=5.4)
    readings = folder / "readings.csv"
    commands = {
        "chirrup": [program, "replay", trace, "--json"],
        "chirrup_csv": [program, "replay", trace, "--csv", readings, "--json"],
        "chirrup_igc": [program, "replay", igc, "--json"],
        "eight": [eight, str(samples)],
        "eight_filters": [eight, str(samples), "filters"],
        "eight_nothing": [eight, "0"],
    }
    least = {}
    for _ in range(rounds):
        for name, command in commands.items():
            least[name] = min(least.get(name, 1e9), cpu_of(command))
        for name in CONTESTANTS:
            found = other(name, trace)
            least[name] = min(least.get(name, 1e9), found["cpu_s"])
            least[name + "_bytes"] = found["bytes"]
    return least | {"samples": samples, "bytes": readings.stat().st_size}


def figures(least):
    """What was asked for, what was found, and the ratio to it, above 1 where it is met."""
    samples, megabytes = least["samples"], least["bytes"] / 1e6
    read = samples / least["chirrup"]
    written = megabytes / (least["chirrup_csv"] - least["chirrup"])
    eight = 8 * samples / (least["eight"] - least["eight_nothing"])
    filters = 8 * samples / (least["eight_filters"] - least["eight_nothing"])
    by_pandas = least["pandas_write_bytes"] / 1e6 / least["pandas_write"]
    by_polars = least["polars_write_bytes"] / 1e6 / least["polars_write"]
    rows = [
        ("CSV to readings", "M samples/s", read / 1e6, "asked for", SAMPLES_A_SECOND / 1e6),
        ("", "", read / 1e6, "pandas, scipy", samples / least["pandas_scipy"] / 1e6),
        ("", "", read / 1e6, "polars, numba", samples / least["polars_numba"] / 1e6),
        ("readings to CSV", "MB/s", written, "asked for", MEGABYTES_A_SECOND),
        ("", "", written, "pandas", by_pandas),
        ("", "", written, "polars", by_polars),
        ("eight instruments", "M samples/s", eight / 1e6, "asked for", EIGHT_A_SECOND / 1e6),
        ("filters alone", "", filters / 1e6, "asked for", EIGHT_A_SECOND / 1e6),
        ("IGC of 5.4 h", "1/s", 1 / least["chirrup_igc"], "asked for", 1 / IGC_SECONDS),
    ]
    names = ["what", "unit", "chirrup", "beside", "theirs"]
    return [dict(zip(names, row)) | {"ratio": row[2] / row[4]} for row in rows]


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--program", default="target/release/chirrup")
    parser.add_argument("--eight", default="target/release/examples/eight_instruments")
    parser.add_argument("--samples", type=int, default=1_000_000)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--json", type=Path, help="write the figures here too")
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        program, eight = Path(chosen.program).resolve(), Path(chosen.eight).resolve()
        least = measured(program, eight, Path(folder), chosen.samples, chosen.rounds)
    rows = figures(least)
    print(f"{'':<18} {'':<12} {'chirrup':>8}  {'beside':<14} {'theirs':>8} {'ratio':>6}")
    for row in rows:
        print(
            f"{row['what']:<18} {row['unit']:<12} {row['chirrup']:>8.2f}  {row['beside']:<14}"
            f" {row['theirs']:>8.2f} {row['ratio']:>6.2f}"
        )
    if chosen.json:
        chosen.json.write_text(json.dumps({"rows": rows, "cpu_s": least}, indent=2) + "\n")


if __name__ == "__main__":
    main()
