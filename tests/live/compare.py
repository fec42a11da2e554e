"""Compares the sound that the device received with the WAV of the same flight: the same samples,
in both channels, from the first that sounds to the last.

Usage: compare.py PLAYED.raw FLIGHT.wav
"""

import array
import sys
import wave


def main():
    played = array.array("f")
    with open(sys.argv[1], "rb") as file:
        data = file.read()
        played.frombytes(data[: len(data) // 8 * 8])
    left, right = played[0::2], played[1::2]
    assert left == right, "a single instrument must be heard in both ears"
    with wave.open(sys.argv[2]) as file:
        assert file.getnchannels() == 1
        expected = array.array("h", file.readframes(file.getnframes()))
    sounds = [place for place, sample in enumerate(expected) if sample]
    start = next(place for place, sample in enumerate(left) if sample)
    wanted = expected[sounds[0] : sounds[-1] + 1]
    found = left[start : start + len(wanted)]
    assert len(found) == len(wanted), f"{len(found)} samples were played of {len(wanted)}"
    wrong = [place for place, sample in enumerate(wanted) if sample / 32768 != found[place]]
    assert not wrong, f"{len(wrong)} samples differ, the first at {wrong[0]}"
    print(f"{len(wanted)} samples were played, every one as in the WAV")


main()
