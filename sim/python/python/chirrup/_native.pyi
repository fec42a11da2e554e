"""What `chirrup` is made of in Rust."""

from typing import Any

import numpy as np
from numpy.typing import NDArray
from typing_extensions import disjoint_base

__all__ = [
    "Error",
    "Settings",
    "arrow_stream",
    "decimals",
    "fly",
    "inspect",
    "read_trace",
    "render",
    "replay",
    "scenario",
    "scenarios",
    "tune",
]

class Error(ValueError):
    """What cannot be used or done, in one line: what, where, and what to do."""

@disjoint_base
class Settings:
    """The settings of an instrument."""

    def __new__(cls) -> Settings: ...
    @staticmethod
    def read_text(name: str, text: str, base: Settings) -> Settings: ...
    @staticmethod
    def load(sources: list[str]) -> Settings: ...
    def with_words(self, words: str) -> Settings: ...
    def json(self) -> str: ...
    def toml(self, comments: bool) -> str: ...
    def differences(self, other: Settings) -> list[str]: ...
    @property
    def old(self) -> list[str]: ...

def replay(
    arrays: dict[str, Any], settings: Settings, nan_is_absent: bool, as_recorded: bool
) -> dict[str, NDArray[Any]]: ...
def render(
    arrays: dict[str, Any],
    settings: Settings,
    rate_hz: int,
    nan_is_absent: bool,
    as_recorded: bool,
) -> NDArray[np.int16]: ...
def decimals() -> dict[str, int]: ...
def arrow_stream(columns: dict[str, Any]) -> object: ...
def read_trace(
    path: str, columns: str | None
) -> tuple[dict[str, NDArray[Any]], dict[str, Any]]: ...
def fly(scenario: str, text: str | None, changes: dict[str, Any], output: str) -> str: ...
def scenarios() -> str: ...
def scenario(name: str) -> str: ...
def inspect(path: str, columns: str | None, segment: int | None, settings: Settings) -> str: ...
def tune(
    paths: list[str],
    columns: str | None,
    segment: int | None,
    settings: Settings,
    wish: dict[str, Any],
) -> tuple[str, Settings]: ...
