"""The tone law against librosa's pitch detector, an A-weighting of our own from the standard's
poles, and scipy."""

import csv

import librosa
import numpy as np
import pytest
import scipy.ndimage
import scipy.signal
import soundfile

RATE = 48_000


def a_weighting_db(frequencies):
    """IEC 61672-1, annex E: four zeros at 0 Hz, poles at 20.6 (double), 107.7, 737.9 and 12194 Hz
    (double); 0 dB at 1 kHz."""
    poles = 2 * np.pi * np.array([20.598997, 20.598997, 107.65265, 737.86223, 12194.217, 12194.217])
    points = np.concatenate([[1000.0], np.asarray(frequencies)])
    _, response = scipy.signal.freqs_zpk(np.zeros(4), -poles, 1.0, worN=2 * np.pi * points)
    levels = 20 * np.log10(np.abs(response))
    return levels[1:] - levels[0]


def test_the_weighting_is_that_of_the_standards_table():
    # IEC 61672-1, table of the A-weighting, at the exact frequencies 10^(n/10).
    exact = 10 ** (np.array([23, 24, 26, 27, 30, 32, 33, 34]) / 10)
    table = [-10.9, -8.6, -4.8, -3.2, 0.0, 1.0, 1.2, 1.3]
    assert a_weighting_db(exact) == pytest.approx(table, abs=0.06)


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


def test_each_tenth_is_told_apart_by_the_detectors_own_pitch(law):
    # 0.6 % of pitch (Kollmeier, Brand and Meyer 2008, as commonly cited) for every 0.1 m/s.
    pitches = []
    for tenth in range(2, 51, 4):
        samples = np.concatenate([np.zeros(4800), law.sound("--at", tenth / 10, "--seconds", 2)])
        start, end = beeps(samples)[1]
        pitches.append(pitch(samples[start + 300 : end - 300]))
    assert np.all(np.diff(np.log(pitches)) > 4 * np.log(1.006) * 0.99)
    assert 500 < pitches[0] and pitches[-1] < 2500


@pytest.mark.parametrize("timbre", ["pure", "mellow", "reed"])
def test_every_tone_is_as_loud_to_the_ear_within_1_db(law, timbre):
    levels = []
    for value in [-10, -6, -3, -1.6, 0.2, 0.6, 1.2, 2.5, 4, 7, 15]:
        setting = f"tone.timbre={timbre}"
        sound = law.sound("--at", value, "--seconds", 2, "--settings", setting)
        samples = np.concatenate([np.zeros(4800), sound])
        start, end = (RATE // 2, RATE * 3 // 2) if value < 0 else beeps(samples)[1]
        part = samples[start + 300 : end - 300]
        frequencies, power = scipy.signal.periodogram(part, RATE, window="hann", nfft=1 << 16)
        weighted = power[1:] * 10 ** (a_weighting_db(frequencies[1:]) / 10)
        levels.append(10 * np.log10(np.sum(weighted)))
    assert np.ptp(levels) < 1.0


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


def test_no_beep_of_the_sweep_clicks(law):
    """In every beep, from silence to silence, the energy further than an octave from its tone is
    50 dB down, edges included."""
    samples = law.sound("--sweep-from", 0.2, "--sweep-to", 10, "--seconds", 20)
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
