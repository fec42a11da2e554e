#!/usr/bin/env python3
"""Instructions of the program for each sample, counted by valgrind.

    sim/benches/instructions.py           counts and prints
    sim/benches/instructions.py --check   fails if a count is 5 % off what is written, up or down
    sim/benches/instructions.py --write   writes what was counted, and who counted

A trace is replayed as a whole and its beginning alone, so that what the program needs to start is
taken off. The release program must be built, and valgrind must be there.
"""

import argparse
import json
import math
import platform
import random
import re
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
WRITTEN = Path(__file__).with_name("instructions.json")
#: A compiler's new version may do so much. Fewer is looked at too: what the documents repeat would
#: be wrong, and half of what was gained could be lost again unnoticed.
OFF = 0.05
FEW, MANY = 1_000, 9_000


def csv_trace(count):
    """Static and impact pressure at 50 Hz in circles of 20 s, with the noise of sensors."""
    rows, noise = ["time_s,static_pa,dynamic_pa\n"], random.Random(1)
    for step in range(count):
        time_s = 0.02 * step
        static_pa = 90_000 - 480 * math.sin(time_s / 20) + noise.gauss(0, 1.2)
        dynamic_pa = 400 + 100 * math.sin(time_s / 7) + noise.gauss(0, 3)
        rows.append(f"{time_s:.2f},{static_pa:.2f},{dynamic_pa:.2f}\n")
    return "".join(rows)


def igc_trace(count):
    """A fix a second, of made-up heights, in the form of the FAI's IGC technical specification."""
    rows = ["AXXX000\n", "HFDTE150726\n"]
    for second in range(36_000, 36_000 + count):
        clock = f"{second // 3600:02}{second // 60 % 60:02}{second % 60:02}"
        height = 1_200 + abs(second % 600 - 300) + second % 3
        rows.append(f"B{clock}4700000N00800000EA{height:05}{height + 40:05}\n")
    return "".join(rows)


#: What is counted: a trace, the ending of its file, options.
CASES = {
    "a sample of a CSV to the summary": (csv_trace, "csv", ["--json"]),
    "a sample of a CSV to a CSV": (csv_trace, "csv", ["--csv", "-"]),
    "a sample of a CSV to sound": (csv_trace, "csv", ["--wav", "-"]),
    "a fix of an IGC log to the summary": (igc_trace, "igc", ["--json"]),
}


def counted(program, trace, options):
    """Instructions of one replay."""
    valgrind = ["valgrind", "--tool=cachegrind", "--cache-sim=no", "--cachegrind-out-file=/dev/null"]
    command = [*valgrind, program, "replay", trace, *options]
    done = subprocess.run(command, capture_output=True, check=False)
    found = re.search(rb"I\s+refs:\s+([\d,]+)", done.stderr)
    if done.returncode or not found:
        sys.exit(f"{' '.join(map(str, command))}: {done.stderr.decode(errors='replace')}")
    return int(found[1].replace(b",", b""))


def for_each_sample(program, folder, case):
    """Instructions for each further sample."""
    text, ending, options = case
    counts = []
    for count in (FEW, MANY):
        trace = folder / f"{count}.{ending}"
        trace.write_text(text(count))
        counts.append(counted(program, trace, options))
    return round((counts[1] - counts[0]) / (MANY - FEW))


def said(*command):
    """The first line that a command prints."""
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout.splitlines()[0]


def counted_by():
    """All that the counts depend on besides the program's source."""
    return {
        "compiler": said("rustc", "--version"),
        "valgrind": said("valgrind", "--version"),
        "C library": " ".join(platform.libc_ver()),
        "platform": platform.machine(),
    }


def complaints(found, written):
    """What is off, one line each; and last what else counted than what is written."""
    counts, by = written["instructions"], written["counted_by"]
    lines = []
    for name in sorted(found.keys() | counts.keys()):
        now, then = found.get(name, 0), counts.get(name, 0)
        if abs(now - then) > OFF * then:
            lines.append(f"{name}: {now} instructions, {then} are written")
    if lines:
        here = counted_by()
        other = [f"{by[what]}, here {here.get(what)}" for what in by if by[what] != here.get(what)]
        lines += [f"counted by {words}" for words in other]
        lines.append("meant? then: just rewrite-instructions && just numbers instructions")
    return lines


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--program", type=Path, default=ROOT / "target/release/chirrup")
    parser.add_argument("--check", action="store_true")
    parser.add_argument("--write", action="store_true")
    chosen = parser.parse_args()
    if not chosen.program.is_file():
        sys.exit(f"there is no {chosen.program}; build it first: cargo build --release -p chirrup")
    with tempfile.TemporaryDirectory() as folder:
        found = {
            name: for_each_sample(chosen.program, Path(folder), case) for name, case in CASES.items()
        }
    written = json.loads(WRITTEN.read_text())
    for name, count in found.items():
        then = written["instructions"].get(name, 0)
        print(f"{name:<36} {count:>7} instructions, written {then:>7}")
    if chosen.write:
        everything = {"counted_by": counted_by(), "instructions": found}
        WRITTEN.write_text(json.dumps(everything, indent=2, sort_keys=True) + "\n")
    elif chosen.check and (lines := complaints(found, written)):
        sys.exit("\n".join(lines))


if __name__ == "__main__":
    main()
