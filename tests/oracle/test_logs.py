"""Logs of autopilots: the lines of Python in the book make a CSV of them that is read right.

The logs are made here, by the formats' published descriptions and by pymavlink; pyulog, pymavlink
and pandas, which know nothing of Chirrup, read them.
"""

import os
import re
import struct
import subprocess

import numpy as np
import pytest

from conftest import PROGRAM, ROOT

PAGE = ROOT / "docs" / "src" / "logs.md"
COUNT = 400
TIMES_US = 5_000_000 + 20_000 * np.arange(COUNT)
# Whole quarters, which every width of float holds.
PRESSURES_PA = 90_000.0 + 0.25 * (np.arange(COUNT) % 40)
IMPACT_PA = 500.0 + 0.5 * (np.arange(COUNT) % 10)


def lines_of_the_book(kind):
    """The lines below the heading of a kind of log."""
    found = re.search(rf"\*\*{kind}\*\*.*?```python\n(.*?)```", PAGE.read_text(), re.DOTALL)
    return found.group(1)


def convert(folder, kind):
    here = os.getcwd()
    os.chdir(folder)
    try:
        exec(compile(lines_of_the_book(kind), kind, "exec"), {})
    finally:
        os.chdir(here)
    return folder / "flight.csv"


def message(kind, body):
    return struct.pack("<HB", len(body), ord(kind)) + body


def ulog():
    """The ULog file format of the PX4 user guide: header, formats, subscriptions, data."""
    formats = [
        b"vehicle_air_data:uint64_t timestamp;float baro_pressure_pa;float baro_temp_celcius;",
        b"differential_pressure:uint64_t timestamp;float differential_pressure_pa;",
        b"sensor_combined:uint64_t timestamp;float[3] gyro_rad;float[3] accelerometer_m_s2;",
    ]
    file = b"ULog\x01\x12\x35\x01" + struct.pack("<Q", int(TIMES_US[0]))
    file += message("B", bytes(40))
    file += b"".join(message("F", text) for text in formats)
    for number, text in enumerate(formats):
        file += message("A", struct.pack("<BH", 0, number) + text.split(b":")[0])
    for time, static, impact in zip(TIMES_US, PRESSURES_PA, IMPACT_PA):
        row = lambda number, *values: struct.pack(f"<HQ{len(values)}f", number, int(time), *values)
        file += message("D", row(0, static, 20.0)) + message("D", row(1, impact))
        file += message("D", row(2, 0.0, 0.0, 0.0, 0.0, 0.0, -9.75))
    return file


def telemetry():
    from pymavlink.dialects.v20 import common

    sender = common.MAVLink(None)
    file = b""
    for time, static, impact in zip(TIMES_US, PRESSURES_PA, IMPACT_PA):
        time_ms, begin = int(time) // 1000, 1_721_044_800_000_000 + int(time)
        pressure = sender.scaled_pressure_encode(time_ms, static / 100, impact / 100, 2000)
        file += struct.pack(">Q", begin) + pressure.pack(sender)
    return file


def dataflash():
    """ArduPilot's messages: each describes itself first."""

    def describe(kind, length, name, letters, labels):
        texts = [text.encode().ljust(width, b"\0") for text, width in
                 ((name, 4), (letters, 16), (labels, 64))]
        return b"\xa3\x95\x80" + struct.pack("<BB", kind, length) + b"".join(texts)

    file = describe(128, 89, "FMT", "BBnNZ", "Type,Length,Name,Format,Columns")
    file += describe(100, 16, "BARO", "QBf", "TimeUS,I,Press")
    file += describe(101, 16, "ARSP", "QBf", "TimeUS,I,DiffPress")
    for time, static, impact in zip(TIMES_US, PRESSURES_PA, IMPACT_PA):
        file += b"\xa3\x95\x64" + struct.pack("<QBf", int(time), 0, static)
        # A second barometer, which is not used.
        file += b"\xa3\x95\x64" + struct.pack("<QBf", int(time) + 3, 1, static + 40.0)
        file += b"\xa3\x95\x65" + struct.pack("<QBf", int(time), 0, impact)
    return file


LOGS = [
    ("PX4 ULog", "flight.ulg", ulog),
    ("MAVLink telemetry", "flight.tlog", telemetry),
    ("ArduPilot DataFlash", "flight.bin", dataflash),
]


@pytest.mark.parametrize("kind, name, make", LOGS)
def test_the_lines_of_the_book_make_a_csv_that_is_read(bench, kind, name, make):
    (bench.folder / name).write_bytes(make())
    # Words of an inertial sensor would stand among the numbers.
    read = bench.readings(convert(bench.folder, kind), "--settings", "inertial=off")
    plain = bench.trace(time_us=TIMES_US, static_pa=PRESSURES_PA, dynamic_pa=IMPACT_PA)
    expected = bench.readings(plain)
    for column in ("altitude_m", "tas_mps"):
        values = read[column][np.isfinite(read[column])]
        # Each sensor has rows of its own, which all show what the plain file has in one.
        assert abs(np.median(values) - np.median(expected[column])) < 0.05, column
    heights = np.unique(np.round(read["altitude_m"][np.isfinite(read["altitude_m"])], 2))
    assert np.max(np.abs(heights - np.unique(np.round(expected["altitude_m"], 2)))) < 0.011


@pytest.mark.parametrize("kind, name, make", LOGS)
def test_the_log_itself_is_answered_with_the_page(tmp_path, kind, name, make):
    (tmp_path / name).write_bytes(make())
    done = subprocess.run(
        [PROGRAM, "inspect", str(tmp_path / name)], capture_output=True, text=True
    )
    assert done.returncode == 1
    assert kind.split()[0] in done.stderr and "Logs of other instruments" in done.stderr
    assert done.stderr.count("\n") == 1
