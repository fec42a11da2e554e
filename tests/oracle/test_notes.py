"""Cruise pairs and the fault call: what the model of a listener says of plain cases, and of the
program's own sounds."""

import numpy as np
import pytest

from conftest import PROGRAM
from ear import change, note_figures, notes
from ear.calibration import RATE
from ear.law import Law
from ear.listener import memory_error

pytestmark = pytest.mark.filterwarnings("ignore::RuntimeWarning")

NOTE = np.sin(np.arange(RATE // 5) * 0.1)
loud = lambda note: 40.0
hidden = lambda note: -60.0


def test_two_notes_are_put_in_order_as_the_normal_distribution_says():
    # Each note is off by 0.6 %: an interval of root 2 of that is one standard deviation, 15.9 %.
    interval = np.exp(0.006 * np.sqrt(2))
    assert notes.wrong_order([NOTE, NOTE], interval, loud) == pytest.approx(0.159, abs=0.001)
    assert notes.wrong_order([NOTE, NOTE], 1.0, loud) == pytest.approx(0.5)
    assert notes.wrong_order([NOTE, NOTE], 1.5, hidden) == pytest.approx(0.5, abs=0.02)


def test_memory_holds_its_bits():
    # The entropy of a range, less that of the normal error, is what is known of a pitch.
    error = memory_error(300.0, 2400.0)
    entropy = np.log2(np.log(8.0)) - np.log2(error * np.sqrt(2 * np.pi * np.e))
    assert entropy == pytest.approx(2.2)


def test_a_call_as_high_as_a_beep_is_taken_for_climb_and_one_of_one_pitch_for_sink():
    call = [NOTE] * 3
    falling = np.array([440.0, 352.0, 282.0])
    climb, sink = notes.call_known(call, falling, 660.0, 0.1, loud)
    assert climb > 0.999 and sink > 0.999
    assert notes.call_known(call, falling, 282.0, 0.1, loud)[0] == pytest.approx(0.5)
    assert notes.call_known(call, [440.0] * 3, 660.0, 0.1, loud)[1] == pytest.approx(0.01, abs=1e-3)
    assert notes.call_known(call, falling, 660.0, 0.1, hidden)[1] < 0.01


@pytest.fixture(scope="module")
def netto():
    return Law(PROGRAM, ["tone.mode=netto"])


def test_a_change_of_pairs_is_noticed_the_sooner_the_greater_it_is(netto):
    shares = [
        change.share_of(*change.pairs_noticed(netto, 1.0, step, lambda _: 40.0), 4.0)
        for step in (0.0, 0.1, 0.2, 0.5)
    ]
    # Nothing is noticed once in a hundred, by four looks at no change.
    assert shares[0] == pytest.approx(0.01, abs=1e-3)
    assert np.all(np.diff(shares) > 0) and shares[-1] > 0.99


def test_the_programs_pairs_and_its_fault_call_are_understood_in_noise():
    found = note_figures.results(PROGRAM)
    by_noise = lambda name: [one for one in found[name] if one["noise"] != "S/N -20"]
    for one in by_noise("cruise"):
        # 0.5 m/s of netto, and 2 m/s (7 km/h) of airspeed.
        if one["change_mps"] >= {"netto": 0.5, "speed": 2.0}[one["mode"]]:
            assert one["noticed_within_2_s_percent"] > 99.0, one
            assert one["median_time_s"] < 1.5, one
    for one in by_noise("order"):
        assert one["wrong_percent"] < 0.1, one
    for one in by_noise("fault_call"):
        assert one["from_climb_percent"] > 99.9 and one["from_sink_percent"] > 99.9, one


def test_the_call_is_what_the_figures_take_it_for():
    law = Law(PROGRAM)
    call = law.fault_call()
    lowest = law.at(0.2).pitch_hz
    assert len(call) == 3
    for note, share in zip(call, note_figures.CALL_PITCHES):
        part = note[RATE // 50 : -RATE // 50]
        power = np.abs(np.fft.rfft(part * np.hanning(len(part)), 1 << 17)) ** 2
        strongest = np.argmax(power) * RATE / (1 << 17)
        # On a small loudspeaker the second harmonic leads.
        wanted = 2 * share * lowest / note_figures.FIFTH
        assert strongest == pytest.approx(wanted, rel=0.01)
