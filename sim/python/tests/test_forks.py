"""Processes that fork after a tuning."""

from __future__ import annotations

import multiprocessing
import subprocess
import sys
from pathlib import Path

import pytest

import chirrup

# In a process of its own, since that of the tests has threads which others may have started.
FORKS = """
import multiprocessing, sys
import chirrup

def child():
    try:
        chirrup.tune(sys.argv[1])
        print("tuned", flush=True)
    except chirrup.Error as error:
        print(error, flush=True)

def forked():
    process = multiprocessing.get_context("fork").Process(target=child)
    process.start()
    process.join(60)
    if process.is_alive():
        process.kill()
        print("hangs", flush=True)

forked()
chirrup.tune(sys.argv[1])
forked()
"""


@pytest.mark.skipif(sys.platform == "win32", reason="nothing forks there")
def test_a_fork_after_a_tuning_is_refused_and_one_before_it_tunes(recordings: Path) -> None:
    ran = subprocess.run(
        [sys.executable, "-c", FORKS, recordings / "pull-ups.csv"],
        capture_output=True,
        text=True,
        timeout=180,
        check=True,
    )
    before, after = ran.stdout.splitlines()
    assert before == "tuned"
    assert after.startswith("tune: this process was forked from one that had run tune before")
    assert 'multiprocessing.get_context("spawn")' in after


def test_what_the_refusal_advises_works(recordings: Path) -> None:
    path = recordings / "pull-ups.csv"
    here = chirrup.tune(path)
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        report, settings = pool.apply_async(chirrup.tune, [path]).get(timeout=120)
    assert (report, settings) == here
