"""The WAV by librosa's pitch detector and scipy's analytic envelope."""

import librosa
import numpy as np
import pytest
import scipy.ndimage
import scipy.signal

from test_estimator import pressures


def steady(bench, climb_mps, *args):
    times = np.arange(0.0, 15.0, 0.02)
    return bench.trace(time_s=times, static_pa=pressures(900.0 + climb_mps * times)), times


def gate(samples, rate):
    """Where the envelope is above half of its usual height in sound, by the analytic signal."""
    envelope = np.abs(scipy.signal.hilbert(samples))
    # Harmonics modulate it: the greatest within 2.6 ms, a period of the tone below that is lowest.
    envelope = scipy.ndimage.maximum_filter1d(envelope, rate // 380)
    return envelope > np.percentile(envelope[envelope > 0.01], 75) / 2


def beeps(samples, rate):
    """Start and end of every whole beep, in samples."""
    edges = np.flatnonzero(np.diff(gate(samples, rate).astype(int)))
    if gate(samples, rate)[0]:
        edges = edges[1:]
    return edges[: len(edges) // 2 * 2].reshape(-1, 2)


# Four m/s are an octave, above 650 Hz at 0.2 m/s; each takes 0.1 s off the 0.7 s between two beeps.
@pytest.mark.parametrize(
    "climb,pitch,cycle", [(1.0, 746.7, 0.62), (2.0, 887.9, 0.52), (5.0, 1493.3, 0.22)]
)
def test_beeps_have_the_pitch_and_the_cadence_of_the_law(bench, climb, pitch, cycle):
    trace, _ = steady(bench, climb)
    samples, rate = bench.sound(trace, "--sound-rate", 48_000)
    found = beeps(samples, rate)
    late = found[found[:, 0] > 8 * rate][:-1]  # The end of the trace cuts the last one.
    starts = late[:, 0] / rate
    assert np.diff(starts) == pytest.approx(cycle, abs=0.005)
    assert (late[:, 1] - late[:, 0]) / rate == pytest.approx(cycle / 2, abs=0.005)
    for start, end in late[:3]:
        middle = samples[start + 400 : end - 400]
        pitches = librosa.yin(
            middle, fmin=300, fmax=3000, sr=rate, frame_length=2048, hop_length=512, center=False
        )
        assert np.median(pitches) == pytest.approx(pitch, rel=0.002)


def test_sink_is_one_steady_tone(bench):
    trace, _ = steady(bench, -4.0)
    samples, rate = bench.sound(trace, "--sound-rate", 48_000)
    sounding = np.flatnonzero(gate(samples, rate))
    assert np.all(np.diff(sounding) == 1)
    tone = samples[8 * rate : 10 * rate]
    pitches = librosa.yin(tone, fmin=100, fmax=2000, sr=rate, frame_length=4096)
    assert np.median(pitches[2:-2]) == pytest.approx(385.0, rel=0.002)


def test_pitch_follows_the_table_through_a_whole_flight(bench):
    bench.run("demo", "--output", "demo")
    folder = bench.folder / "demo"
    # Readings and sound of one run: the filter measures the air as it flies, so that a run that
    # begins here reads otherwise than one that has flown on.
    part = ["--from", "240", "--to", "270"]
    readings = bench.readings(folder / "flight.csv", *part)
    samples, rate = bench.sound(folder / "flight.csv", *part, "--sound-rate", 48_000)
    hop = 480
    pitches = librosa.yin(
        samples, fmin=300, fmax=3000, sr=rate, frame_length=1920, hop_length=hop, center=True
    )
    times = 240.0 + np.arange(len(pitches)) * hop / rate
    envelope = np.abs(scipy.signal.hilbert(samples))
    # High tones are lower in the file, since the ear hears them better: a beep's own height is that
    # of its surroundings.
    height = scipy.ndimage.maximum_filter1d(envelope, 9600)
    loud = scipy.signal.convolve(envelope > 0.85 * height, np.ones(1920) / 1920, "same") > 0.999
    inside = [place for place in range(len(pitches) - 2) if loud[min(place * hop, len(loud) - 1)]]
    asked = np.interp(times, readings["time_s"], readings["tone_hz"])
    # The first two seconds are the start, which is silent.
    inside = [place for place in inside if np.isfinite(asked[place])]
    assert len(inside) > 200
    cents = 1200 * np.log2(pitches[inside] / asked[inside])
    # The pitch moves by up to 40 cents within the detector's window.
    assert np.median(np.abs(cents)) < 10
    assert np.percentile(np.abs(cents), 95) < 40
