"""The tone law against librosa's pitch detector and scipy; what is expected of it is the law in
words: four m/s are an octave, and each m/s takes 0.1 s off the time from beep to beep."""

import csv

import librosa
import numpy as np
import pytest
import scipy.ndimage
import scipy.signal
import soundfile

RATE = 48_000


def pitch_of(climb_mps):
    """650 Hz at 0.2 m/s, an octave for four m/s up to 5 m/s and for ten above."""
    octaves = (min(climb_mps, 5.0) - 0.2) / 4 + max(climb_mps - 5.0, 0.0) / 10
    return 650.0 * 2**octaves


def cycle_of(climb_mps):
    """0.7 s at 0.2 m/s, 0.1 s less for each m/s up to 5 m/s; 0.213 s at 10 m/s."""
    if climb_mps <= 5.0:
        return 0.7 - 0.1 * (climb_mps - 0.2)
    return 0.22 - 0.007 * (climb_mps - 5.0) / 5


class Law:
    def __init__(self, bench):
        self.bench = bench

    def rows(self, *settings):
        table = self.bench.folder / "law.csv"
        self.bench.run("tone", "--csv", table, *settings)
        with open(table, newline="") as file:
            return list(csv.DictReader(file))

    def sound(self, *args):
        wav = self.bench.folder / "tone.wav"
        self.bench.run("tone", "--wav", wav, "--sound-rate", RATE, *args)
        samples, rate = soundfile.read(wav)
        assert rate == RATE
        return samples


@pytest.fixture
def law(bench):
    return Law(bench)


def beeps(samples):
    """Start and end of every whole beep, in samples, by the maximum of the analytic signal's
    envelope within 2.5 ms, a period of the lowest beep: harmonics modulate the envelope."""
    envelope = scipy.ndimage.maximum_filter1d(np.abs(scipy.signal.hilbert(samples)), RATE // 400)
    edges = np.flatnonzero(np.diff((envelope > np.max(envelope) / 2).astype(int)))
    return edges[: len(edges) // 2 * 2].reshape(-1, 2)


def pitch(samples):
    found = librosa.yin(
        samples, fmin=150, fmax=3000, sr=RATE, frame_length=1536, hop_length=256, center=False
    )
    return np.median(found)


@pytest.mark.parametrize("climb", [0.2, 0.7, 1.3, 2.2, 3.4, 4.6, 6.0, 12.0])
def test_beeps_sound_at_the_pitch_and_the_rate_that_the_table_says(law, climb):
    row = next(row for row in law.rows() if float(row["value_mps"]) == climb)
    sound = law.sound("--at", climb, "--seconds", 5)
    samples = np.concatenate([np.zeros(4800), sound, np.zeros(4800)])
    found = beeps(samples)[:-1]
    assert np.diff(found[:, 0]) / RATE == pytest.approx(1 / float(row["cadence_hz"]), abs=0.005)
    start, end = found[1]
    wanted = float(row["pitch_hz"])
    assert pitch(samples[start + 300 : end - 300]) == pytest.approx(wanted, rel=0.003)


@pytest.mark.parametrize("climb", [0.2, 0.6, 1.0, 1.7, 2.5, 3.3, 4.2, 4.8, 5.0, 7.5, 10.0])
def test_the_law_is_what_it_says_in_words(law, climb):
    sound = law.sound("--at", climb, "--seconds", 4)
    found = beeps(np.concatenate([np.zeros(4800), sound]))[:-1]
    cycles = np.diff(found[:, 0]) / RATE
    # The words are a straight line, the table is one in parts: up to 5 ms between its entries.
    assert np.mean(cycles) == pytest.approx(cycle_of(climb), abs=0.005)
    assert np.diff(found[1:]) / RATE == pytest.approx(cycle_of(climb) / 2, abs=0.005)
    start, end = found[1] - 4800
    assert pitch(sound[start + 300 : end - 300]) == pytest.approx(pitch_of(climb), rel=0.004)


def test_each_tenth_is_told_apart_by_the_detectors_own_pitch(law):
    # 0.6 % of pitch (Kollmeier, Brand and Meyer 2008, as commonly cited) for every 0.1 m/s.
    pitches = []
    for tenth in range(2, 51, 4):
        samples = np.concatenate([np.zeros(4800), law.sound("--at", tenth / 10, "--seconds", 2)])
        start, end = beeps(samples)[1]
        pitches.append(pitch(samples[start + 300 : end - 300]))
    assert np.all(np.diff(np.log(pitches)) > 4 * np.log(1.006) * 0.99)
    assert 500 < pitches[0] and pitches[-1] < 2500


def test_a_small_loudspeaker_carries_the_pitch_of_a_low_tone(law):
    """Below 450 Hz nothing passes; the detector still finds the missing fundamental."""
    wanted = next(float(row["pitch_hz"]) for row in law.rows() if float(row["value_mps"]) == -8.0)
    samples = law.sound("--at", -8, "--seconds", 2, "--settings", "tone.timbre=reed")
    high = scipy.signal.sosfilt(scipy.signal.butter(8, 450, "high", fs=RATE, output="sos"), samples)
    part = high[RATE // 2 : RATE]
    found = librosa.yin(
        part, fmin=150, fmax=3000, sr=RATE, frame_length=4096, trough_threshold=0.2
    )
    assert np.median(found) == pytest.approx(wanted, rel=0.005)


@pytest.mark.parametrize("depth,wanted", [(-1.6, 433.0), (-4.0, 385.0), (-10.0, 310.0)])
@pytest.mark.parametrize("corner_hz", [None, 700.0])
def test_sink_of_the_small_loudspeaker_has_the_pitch_of_its_fundamental(
    law, depth, wanted, corner_hz
):
    """Its second harmonic leads, and the detector finds no octave: in headphones, and from a small
    loudspeaker that loses 12 dB an octave below 700 Hz."""
    samples = law.sound("--at", depth, "--seconds", 2)
    if corner_hz:
        loses = scipy.signal.butter(2, corner_hz, "high", fs=RATE, output="sos")
        samples = scipy.signal.sosfilt(loses, samples)
    part = samples[RATE // 2 : RATE]
    power = np.abs(np.fft.rfft(part)) ** 2
    strongest = np.argmax(power) * RATE / len(part)
    assert strongest == pytest.approx(2 * wanted, abs=3)
    found = librosa.yin(part, fmin=150, fmax=3000, sr=RATE, frame_length=4096)
    assert np.median(found) == pytest.approx(wanted, rel=0.002)


def test_sink_of_headphones_is_a_pure_tone(law):
    samples = law.sound("--at", -4, "--seconds", 2, "--settings", "tone.speaker=flat")
    part = samples[RATE // 2 : RATE]
    power = np.abs(np.fft.rfft(part * np.hanning(len(part)))) ** 2
    frequencies = np.fft.rfftfreq(len(part), 1 / RATE)
    near = np.abs(frequencies - 385.0) < 20
    assert 10 * np.log10(np.sum(power[~near]) / np.sum(power[near])) < -50


def test_no_beep_of_the_sweep_clicks(law):
    """In every beep, from silence to silence, the energy further than an octave from its tone is
    50 dB down, edges included."""
    samples = law.sound("--sweep-from", 0.2, "--sweep-to", 10, "--seconds", 40)
    found = beeps(samples)[1:-1]
    assert len(found) > 100
    for start, end in found:
        beep = samples[start - 480 : end + 480]
        power = np.abs(np.fft.rfft(beep, 1 << 16)) ** 2
        frequencies = np.fft.rfftfreq(1 << 16, 1 / RATE)
        strongest = frequencies[np.argmax(power)]
        outside = (frequencies < strongest / 2) | (frequencies > strongest * 2)
        level = 10 * np.log10(np.sum(power[outside]) / np.sum(power[~outside]))
        assert level < -50, f"{level} dB at {strongest} Hz"


def test_sink_and_the_fault_call_are_a_fifth_below_every_beep_and_unlike_one_another(law):
    lowest = min(float(row["pitch_hz"]) for row in law.rows() if row["sound"] == "beeps")
    sink = law.sound("--at", -1.6, "--seconds", 3)
    assert pitch(sink[RATE : 2 * RATE]) <= lowest / 1.5 * 1.003
    call = np.concatenate([np.zeros(4800), law.sound("--fault", "--seconds", 5), np.zeros(4800)])
    notes = beeps(call)
    assert len(notes) == 3
    pitches = [pitch(call[start + 600 : end - 600]) for start, end in notes]
    assert pitches[0] <= lowest / 1.5 * 1.003
    assert np.array(pitches[1:]) / pitches[:-1] == pytest.approx(0.8, rel=0.01)
