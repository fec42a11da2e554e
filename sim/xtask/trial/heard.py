"""Is the demonstration heard? python3 heard.py DEMO.WAV

From the sound alone: where the guide of `chirrup demo` promises silence, slow beeps, quick beeps and
a steady tone, they are there. Nothing of the project's own code is used.
"""

import array
import sys
import wave

with wave.open(sys.argv[1]) as sound:
    assert sound.getnchannels() == 1 and sound.getsampwidth() == 2, "not one channel of 16 bits"
    rate = sound.getframerate()
    samples = array.array("h", sound.readframes(sound.getnframes()))
if sys.byteorder == "big":
    samples.byteswap()


def loud(from_s, to_s):
    """Whether each 5 ms between two times has sound in it."""
    step = rate // 200
    cut = samples[int(from_s * rate) : int(to_s * rate)]
    return [max(map(abs, cut[at : at + step])) > 300 for at in range(0, len(cut) - step, step)]


def beeps_a_second(from_s, to_s):
    """Sounds that begin after at least 30 ms of silence."""
    pieces = loud(from_s, to_s)
    begun = sum(
        piece and not any(pieces[max(0, at - 6) : at]) for at, piece in enumerate(pieces)
    )
    return begun / (to_s - from_s)


def share(from_s, to_s):
    """The part of the time that sounds."""
    pieces = loud(from_s, to_s)
    return sum(pieces) / len(pieces)


weak, strong = beeps_a_second(125, 165), beeps_a_second(240, 270)
still, sink = share(60, 105), share(340, 375)
print(
    f"weak thermal {weak:.1f} beeps a second, strong {strong:.1f}; sound in still air "
    f"{100 * still:.0f} %, in steep sink {100 * sink:.0f} % of the time"
)
assert 1.2 < weak < 2.0 < strong < 4.0, "the thermals do not sound like climb"
assert still < 0.02, "still air is not silent"
assert sink > 0.98, "steep sink is not a steady tone"
