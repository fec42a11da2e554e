"""Prints what the ear makes of the law that a program `chirrup` plays: see `--help`."""

import argparse
import json
import math
import pathlib
import sys
import warnings

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))

from ear import figures, masking, note_figures  # noqa: E402
from ear.candidate import CandidateLaw, read_tables  # noqa: E402
from ear.law import Law  # noqa: E402

SHOWN_MPS = (-10, -8, -4, -1.6, 0.2, 0.5, 1, 2, 3, 4, 5, 7, 10)
HEAD = "   m/s     Hz   a s    ms      dB    sone  acum   flat  small  piezo   wind"


def row(ear, climb):
    """One sound as a dictionary."""
    point = ear.law.at(climb)
    n5, sharpness = ear.loudness()
    return {
        "climb_mps": climb,
        "pitch_hz": point.pitch_hz,
        "cadence_hz": point.cadence_hz,
        "beep_ms": None if point.beep_s is None else 1000 * point.beep_s,
        "level_db": point.level_db,
        "level_spl": float(masking.level_spl(ear.law.beep(climb))),
        "loudness_sone": float(n5[climb]),
        "sharpness_acum": float(sharpness[climb]),
        "excess_flat_db": ear.excess(climb),
        "excess_small_db": ear.excess(climb, "small"),
        "excess_piezo_db": ear.excess(climb, "piezo"),
        "excess_wind_db": ear.excess(climb, "flat", "wind"),
    }


def text_of(row):
    """One sound as a line."""
    beep = "     -     -" if row["beep_ms"] is None else (
        f"{row['cadence_hz']:6.2f}{row['beep_ms']:6.0f}"
    )
    return (
        f"{row['climb_mps']:+6.1f} {row['pitch_hz']:6.0f}{beep} {row['level_db']:7.1f}"
        f" {row['loudness_sone']:7.1f} {row['sharpness_acum']:5.2f}"
        f" {row['excess_flat_db']:6.1f} {row['excess_small_db']:6.1f}"
        f" {row['excess_piezo_db']:6.1f} {row['excess_wind_db']:6.1f}"
    )


def results(law, louder_at_speed_db):
    """Everything as one dictionary."""
    ear = figures.Ear(law)
    lines = figures.all_figures(ear, louder_at_speed_db)
    octave = figures.octave_figures(ear)
    return {
        "sounds": [row(ear, climb) for climb in SHOWN_MPS],
        "figures": [
            {
                "name": line.name,
                "unit": line.unit,
                "value": float(line.value),
                "first_law": line.today,
                "must": line.must,
                "aim": line.aim,
                "verdict": line.verdict,
            }
            for line in lines
        ],
        "octave": {
            speaker: {"heard_percent": heard, "wrong_depths_percent": wrong}
            for speaker, (heard, wrong) in octave.items()
        },
        "changes": [
            {
                "noise": noise,
                "change_mps": step,
                "noticed_within_2_s_percent": share,
                # No number in JSON is infinite.
                "median_time_s": time if math.isfinite(time) else None,
            }
            for noise, step, share, time in figures.change_figures(ear)
        ],
    }


def text(found):
    """The results as a page of text."""
    lines = ["Each sound: loudness N5, sharpness, dB above the masked threshold at S/N -10", HEAD]
    lines += [text_of(sound) for sound in found["sounds"]]
    lines += ["", f"{'figure':52} {'value':>7} {'first':>7} {'must':>6} {'aim':>6}"]
    for figure in found["figures"]:
        lines.append(
            f"{figure['name']:52} {figure['value']:7.2f} {figure['first_law']:7.2f}"
            f" {figure['must']:6.2f} {figure['aim']:6.2f}  {figure['verdict']}"
        )
    lines += ["", "Sink: greatest chance of hearing the octave; depths named wrongly"]
    for speaker, octave in found["octave"].items():
        heard, wrong = octave["heard_percent"], octave["wrong_depths_percent"]
        lines.append(f"  {speaker:6} {heard:5.1f} %  {wrong:5.1f} %")
    lines += ["", "A change of climb: noticed within 2 s; median time until 9 of 10 are"]
    for one in found["changes"]:
        time = "never" if one["median_time_s"] is None else f"{one['median_time_s']:.2f} s"
        share = one["noticed_within_2_s_percent"]
        lines.append(f"  {one['noise']:8} {one['change_mps']:.1f} m/s {share:5.1f} %  {time}")
    if "notes" in found:
        lines += ["", *note_figures.text(found["notes"])]
    return "\n".join(lines)


def main():
    """Reads the options and prints."""
    parser = argparse.ArgumentParser(description=__doc__)
    law = parser.add_mutually_exclusive_group(required=True)
    law.add_argument("--program", help="the program `chirrup`")
    law.add_argument("--candidate", metavar="JSON", help="a law as tables, see candidate.py")
    parser.add_argument("--settings", action="append", default=[], help="as the program takes them")
    parser.add_argument("--louder", type=float, default=0.0, metavar="DB",
                        help="how much louder the sound is at 200 km/h")
    parser.add_argument("--json", action="store_true", help="print JSON")
    options = parser.parse_args()
    warnings.simplefilter("ignore")
    if options.candidate:
        law = CandidateLaw(read_tables(options.candidate))
    else:
        law = Law(options.program, options.settings)
    found = results(law, options.louder)
    if options.program:
        found["notes"] = note_figures.results(options.program, options.settings)
    print(json.dumps(found, indent=2) if options.json else text(found))


if __name__ == "__main__":
    main()
