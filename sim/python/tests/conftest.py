"""The real program, with which the package is compared."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

ROOT = Path(__file__).resolve().parents[3]

Run = Callable[..., "subprocess.CompletedProcess[str]"]

settings.register_profile(
    "chirrup",
    # The full run has a thousand: CHIRRUP_EXAMPLES=1000.
    max_examples=int(os.environ.get("CHIRRUP_EXAMPLES", "100")),
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
settings.load_profile("chirrup")


@pytest.fixture(scope="session")
def program() -> Run:
    """Runs `chirrup`: CHIRRUP_PROGRAM, or the release build of this working copy."""
    path = Path(os.environ.get("CHIRRUP_PROGRAM", ROOT / "target/release/chirrup"))
    assert path.exists(), f"{path} is not there: cargo build --release -p chirrup"

    def run(*arguments: str | Path) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [path, *map(str, arguments)], capture_output=True, text=True, check=False
        )

    return run


@pytest.fixture(scope="session")
def recordings() -> Path:
    """The recordings of this project."""
    return ROOT / "recordings"
