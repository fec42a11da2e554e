"""Settings: keys, files, refusals in the program's words."""

from __future__ import annotations

import copy
import pickle
from pathlib import Path

import pytest

import chirrup
from chirrup import Settings
from conftest import Run


def test_keys_are_those_of_a_settings_file() -> None:
    settings = Settings()
    assert settings["response_s"] == settings.as_dict()["response_s"]
    assert settings["tone.volume"] == settings.as_dict()["tone"]["volume"]
    assert set(settings) >= {"response_s", "tone.volume", "energy"}
    assert len(settings) == len(list(settings))
    with pytest.raises(KeyError):
        settings["tone.loudness"]


def test_changes_are_kept_and_the_defaults_are_not_touched() -> None:
    settings = Settings(response_s=0.6)
    settings["energy"] = "none"
    settings.update({"tone.volume": 3, "tone.climb_from_mps": 0.4})
    other = settings.replaced(response_s=0.8)
    assert (settings["response_s"], other["response_s"]) == (0.6, 0.8)
    assert (settings["energy"], settings["tone.volume"]) == ("none", 3)
    assert Settings()["energy"] == "auto"
    assert len(Settings().differences(settings)) == 4


def test_lists_and_optional_groups_are_set_as_tables() -> None:
    settings = Settings()
    climb = settings["tone.climb"]
    climb[0]["pitch_hz"] += 10.0
    settings["tone.climb"] = climb
    assert settings["tone.climb"] == climb
    assert settings["polar"] is None
    text = Settings().toml(comments=True)
    assert "polar" in text


def test_a_change_that_would_change_nothing_is_refused() -> None:
    settings = Settings()
    with pytest.raises(AttributeError, match=r'write settings\["response_s"\] = 0\.3'):
        settings.response_s = 0.3  # type: ignore[attr-defined]
    with pytest.raises(TypeError, match="does not support item assignment"):
        settings["tone"]["volume"] = 1
    assert settings == Settings()
    # What is read can be set, changed or not.
    settings["tone"] = {**settings["tone"], "volume": 1}
    other = Settings()
    other["tone"] = settings["tone"]
    assert settings["tone.volume"] == other["tone.volume"] == 1


def test_a_file_comes_back_as_it_was(tmp_path: Path) -> None:
    settings = Settings("response_s=0.6,tone.volume=4")
    file = tmp_path / "mine.toml"
    file.write_text(settings.toml())
    assert Settings(file) == settings
    assert Settings.from_toml(file.read_text()) == settings
    assert Settings(file, "response_s=0.9")["response_s"] == 0.9
    assert pickle.loads(pickle.dumps(settings)) == settings
    assert copy.deepcopy(settings) == settings


@pytest.mark.parametrize(
    "words",
    ["response_s=99", "respons_s=1", "tone.volume=loud", "energy=maybe", "nothing", "a.toml"],
)
def test_refusals_are_the_programs(program: Run, words: str) -> None:
    printed = program("settings", "--settings", words).stderr
    with pytest.raises(chirrup.Error) as refused:
        Settings(words)
    assert "\n" not in str(refused.value)
    assert str(refused.value) in printed


def test_a_wrong_line_of_a_file_is_named(program: Run, tmp_path: Path) -> None:
    file = tmp_path / "wrong.toml"
    file.write_text("response_s = 0.5\n\n[tone]\nvolume = 99\n")
    printed = program("settings", "--settings", str(file)).stderr
    with pytest.raises(chirrup.Error, match=r"wrong\.toml:4: ") as refused:
        Settings(file)
    assert str(refused.value) in printed


def test_a_change_that_is_refused_changes_nothing() -> None:
    settings = Settings()
    for changes in ({"response_s": 0.5, "tone.volume": 99}, {"response_s": "0.5,tone.volume=1"}):
        with pytest.raises(chirrup.Error):
            settings.update(changes)
    assert settings == Settings()
