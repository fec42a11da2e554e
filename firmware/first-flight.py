#!/usr/bin/env python3
"""From a program on a board to the first recorded flight, by the commands of docs/src/building.md,
on the emulated Pico: `firmware/first-flight.py`.

The page's lines are typed as they stand, with a pseudo-terminal in place of /dev/ttyACM0; behind it
the emulated board, started from the UF2 file through its loader, flies the demonstration's flight.
Needs Node, Python, and Linux or macOS. CHIRRUP is the program, if it is not on the PATH.
"""

import json
import os
import re
import select
import shutil
import subprocess
import sys
import tempfile
import threading
import time
import tty
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "docs/src/building.md"
PORT = "/dev/ttyACM0"
FLIGHT = ROOT / "recordings/demo-flight.csv"
# A minute of flight; the emulated one takes about half as long as a real one.
ROWS = 3_000
PATIENCE_S = 600


def commands(section):
    """The shell lines of a section of the page, without comments."""
    text = PAGE.read_text().split(f"\n## {section}\n")[1].split("\n## ")[0]
    blocks = re.findall(r"```sh\n(.*?)```", text, re.S)
    lines = [line.split(" #")[0].strip() for block in blocks for line in block.splitlines()]
    return [line for line in lines if line]


class Board:
    """The emulated board behind a pseudo-terminal."""

    def __init__(self, image):
        self.master, slave = os.openpty()
        tty.setraw(slave)
        self.port, self.slave = os.ttyname(slave), slave
        words = ["node", "run.mjs", "--console", "--trace", FLIGHT, "--image", image]
        self.emulator = subprocess.Popen(
            words, cwd=ROOT / "firmware/emulator", stdin=subprocess.PIPE, stdout=subprocess.PIPE
        )
        threading.Thread(target=self.carry, daemon=True).start()

    def carry(self):
        output = self.emulator.stdout.fileno()
        while True:
            for ready in select.select([self.master, output], [], [])[0]:
                data = os.read(ready, 4096)
                if ready == output and not data:
                    return
                if ready == output:
                    os.write(self.master, data)
                else:
                    self.emulator.stdin.write(data)
                    self.emulator.stdin.flush()

    def unplug(self):
        self.emulator.stdin.close()
        self.emulator.wait(timeout=30)


def chirrup():
    found = os.environ.get("CHIRRUP") or shutil.which("chirrup")
    if not found:
        sys.exit("first-flight: no program `chirrup`: cargo install --path sim, or set CHIRRUP")
    return str(Path(found).resolve())


def typed(line, board, folder):
    """Types a line of the page; returns what it said."""
    words = [board.port if word == PORT else word for word in line.split()]
    words[0] = chirrup() if words[0] == "chirrup" else words[0]
    print(f"$ {line}", flush=True)
    done = subprocess.run(words, cwd=folder, capture_output=True, text=True, timeout=PATIENCE_S)
    print((done.stdout + done.stderr).rstrip(), flush=True)
    if done.returncode:
        sys.exit(f"first-flight: `{line}` ended with {done.returncode}")
    return done.stdout


def rows_recorded(board):
    """Rows of the first flight in the board's flash so far."""
    words = [chirrup(), "device", board.port, "flights", "--json"]
    done = subprocess.run(words, capture_output=True, text=True, timeout=60)
    flights = json.loads(done.stdout) if done.returncode == 0 else []
    return flights[0]["rows"] if flights else 0


def fly(board):
    until = time.monotonic() + PATIENCE_S
    while time.monotonic() < until:
        time.sleep(3)
        rows = rows_recorded(board)
        print(f"flying: {rows} of {ROWS} rows", flush=True)
        if rows >= ROWS:
            return
    sys.exit(f"first-flight: no flight of {ROWS} rows was recorded in {PATIENCE_S} s")


def main():
    build = [line for line in commands("First beep") if line.startswith("firmware/build.sh")]
    subprocess.run(build[0].split(), cwd=ROOT, check=True)
    folder = os.environ.get("CHIRRUP_BOARDS_DIR", ROOT / "target/boards")
    board = Board(Path(folder).resolve() / "thumbv6m-none-eabi/release/pico.uf2")
    try:
        with tempfile.TemporaryDirectory() as scratch:
            said = ""
            for line in commands("First flight"):
                if line.endswith(" flights"):
                    fly(board)
                said += typed(line, board, scratch)
            fetched = (Path(scratch) / "flight.csv").read_text().splitlines()
            rows = sum(line[:1].isdigit() for line in fetched)
            sound = (Path(scratch) / "flight.wav").stat().st_size
    finally:
        board.unplug()
    if "passed" not in said or rows < ROWS or sound < 1_000_000:
        sys.exit(f"first-flight: {rows} rows, {sound} bytes of sound")
    print(f"first-flight: passed; {rows} rows fetched and replayed, {sound} bytes of sound")


if __name__ == "__main__":
    main()
