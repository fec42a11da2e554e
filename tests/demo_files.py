"""Checks that the files of `chirrup demo` are complete: python3 tests/demo_files.py FOLDER"""

import csv
import pathlib
import sys
import wave

folder = pathlib.Path(sys.argv[1])
with wave.open(str(folder / "demo.wav")) as sound:
    seconds = sound.getnframes() / sound.getframerate()
    frames = sound.readframes(sound.getnframes())
assert 500 < seconds < 501, f"demo.wav lasts {seconds} s"
assert any(frames), "demo.wav is silent"
assert (folder / "demo.svg").read_text().startswith("<"), "demo.svg is no SVG"
assert (folder / "demo.png").read_bytes().startswith(b"\x89PNG"), "demo.png is no PNG"
rows = list(csv.DictReader(open(folder / "demo.csv")))
assert len(rows) == 10001 and rows[-1]["status"] == "ok", f"demo.csv has {len(rows)} rows"
print("the demonstration's files are complete")
