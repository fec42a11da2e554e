"""How the cruise pairs and the fault call of a program are understood."""

import numpy as np

from ear import change, notes
from ear.law import Law
from ear.listener import memory_error

# Values of each cruise mode in m/s from which it changes, up to its far end, and the changes.
CRUISE = {
    "netto": (np.arange(5, 31) / 10, (0.2, 0.5, 1.0)),
    "speed": (np.arange(20, 121, 5) / 10, (1.0, 2.0, 4.0)),
}
SECONDS = 2.0
NOISES_DB = {"quiet": None, "S/N 0": 0.0, "S/N -10": -10.0, "S/N -20": -20.0}
# Of the pitches of the fault call, as the bench plays it: each note a major third below the last.
CALL_PITCHES = (1.0, 0.8, 0.64)
FIFTH = 1.5


def above_in(noise, speaker):
    """Level of a note above the threshold in one of NOISES_DB."""
    level = NOISES_DB[noise]
    return notes.quiet if level is None else notes.in_noise(level, speaker)


def cruise_rows(law, mode, speaker):
    """Rows of (noise, change in m/s, % noticed within 2 s, median time until 9 of 10 are).

    The time is in s, None where four looks do not do.
    """
    values, steps = CRUISE[mode]
    rows = []
    for noise in NOISES_DB:
        # Of the two notes, the one that is heard worse.
        above = min(above_in(noise, speaker)(note) for note in law.pair(values[-1]))
        for step in steps:
            starts = [value for value in values if value + step <= values[-1]]
            each = [change.pairs_noticed(law, value, step, lambda _: above) for value in starts]
            shares = [change.share_of(*one, SECONDS) for one in each]
            times = [change.sure_after(*one) for one in each]
            time = float(np.median(times))
            rows.append(
                (noise, step, 100 * float(np.mean(shares)), time if np.isfinite(time) else None)
            )
    return rows


def order_rows(law, mode, speaker):
    """Rows of (noise, % of pairs taken for their opposite): rising or falling, the worse."""
    value = CRUISE[mode][0][0]
    pairs = [law.pair(sign * value) for sign in (1, -1)]
    return [
        (noise, 100 * max(notes.wrong_order(p, FIFTH, above_in(noise, speaker)) for p in pairs))
        for noise in NOISES_DB
    ]


def call_rows(law, speaker):
    """Rows of (noise, % of fault calls told from climb, % told from sink), within one call."""
    beeps = [point.pitch_hz for point in law.points.values() if point.cadence_hz is not None]
    pitches = np.array(CALL_PITCHES) * min(beeps) / FIFTH
    memory = memory_error(min(pitches), max(beeps))
    call = law.fault_call()
    rows = []
    for noise in NOISES_DB:
        known = notes.call_known(call, pitches, min(beeps), memory, above_in(noise, speaker))
        rows.append((noise, *(100 * share for share in known)))
    return rows


def results(program, settings=()):
    """All of it as one dictionary, on the loudspeaker for which each law is made."""
    found = {"cruise": [], "order": [], "fault_call": []}
    for speaker in ("flat", "small"):
        laws = {
            mode: Law(program, [*settings, f"tone.speaker={speaker}", f"tone.mode={mode}"])
            for mode in ("climb", *CRUISE)
        }
        for noise, climb, sink in call_rows(laws["climb"], speaker):
            found["fault_call"].append(
                {"speaker": speaker, "noise": noise, "from_climb_percent": climb,
                 "from_sink_percent": sink}
            )
        for mode in CRUISE:
            for noise, wrong in order_rows(laws[mode], mode, speaker):
                found["order"].append(
                    {"mode": mode, "speaker": speaker, "noise": noise, "wrong_percent": wrong}
                )
    for mode in CRUISE:
        for noise, step, share, time in cruise_rows(laws[mode], mode, "small"):
            found["cruise"].append(
                {"mode": mode, "noise": noise, "change_mps": step,
                 "noticed_within_2_s_percent": share, "median_time_s": time}
            )
    return found


def text(found):
    """The results as lines."""
    lines = ["Cruise pairs, small: a change noticed within 2 s; median time until 9 of 10 are"]
    for one in found["cruise"]:
        time = "never" if one["median_time_s"] is None else f"{one['median_time_s']:.2f} s"
        lines.append(
            f"  {one['mode']:6} {one['noise']:8} {one['change_mps']:.1f} m/s"
            f" {one['noticed_within_2_s_percent']:5.1f} %  {time}"
        )
    lines.append("A pair taken for its opposite")
    for one in found["order"]:
        place = f"{one['mode']:6} {one['speaker']:6} {one['noise']:8}"
        lines.append(f"  {place} {one['wrong_percent']:6.2f} %")
    lines.append("One fault call: told from climb, from sink")
    for one in found["fault_call"]:
        lines.append(
            f"  {one['speaker']:6} {one['noise']:8} {one['from_climb_percent']:6.2f} %"
            f" {one['from_sink_percent']:6.2f} %"
        )
    return lines
