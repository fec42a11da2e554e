"""Settings of the instrument."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, TypeAlias

from . import _native
from ._native import Error


class Settings(Mapping[str, Any]):
    """The settings of an instrument, by key as in a settings file: ``"tone.volume"``.

    They are checked whenever they are made or changed, in the program's words; the book lists
    them. A change names one key or several at once, since some depend on others. A group such as
    ``settings["tone"]`` is there to read, and a list is a copy: change it and set it again.

    Example:
        >>> settings = Settings(response_s=0.6)
        >>> settings["energy"] = "electronic"
        >>> settings["response_s"]
        0.6
    """

    __slots__ = ("__weakref__", "_native")

    def __init__(self, *sources: str | os.PathLike[str], **changes: Any) -> None:
        """The defaults, changed by sources and then by changes, the later ones winning.

        Args:
            *sources: What ``--settings`` of the program takes: a TOML file, or
                ``"key=value,key=value"``.
            **changes: Settings without a group, such as ``response_s=0.6``; see `update`.

        Raises:
            Error: A file that cannot be read, an unknown key, a value out of range.
        """
        self._native = (
            _native.Settings.load([os.fspath(source) for source in sources])
            if sources
            else _native.Settings()
        )
        self.update(changes)

    @classmethod
    def from_toml(cls, text: str, name: str = "settings") -> Settings:
        """The settings of a settings file; what it does not name is at its default.

        Args:
            text: The file's text.
            name: What to call it in messages.

        Raises:
            Error: One line with the line of the text and the setting.
        """
        return cls._of(_native.Settings.read_text(name, text, _native.Settings()))

    @classmethod
    def _of(cls, native: _native.Settings) -> Settings:
        made = cls.__new__(cls)
        made._native = native
        return made

    def update(self, changes: Mapping[str, Any]) -> None:
        """Changes several settings at once; either all or none.

        Args:
            changes: Values by key. A number, a truth value or a word; for a list such as
                ``"tone.climb"`` a list of dicts; for an optional group such as ``"polar"`` a dict,
                or ``None`` to take it away.

        Raises:
            Error: An unknown key, or a value of another kind or out of range.
        """
        words = [f"{key}={_word(value)}" for key, value in changes.items() if not _is_table(value)]
        tables = {key: value for key, value in changes.items() if _is_table(value)}
        native = self._native.with_words(",".join(words)) if words else self._native
        if tables:
            native = _native.Settings.read_text("settings", _toml(tables), native)
        self._native = native

    def replaced(self, changes: Mapping[str, Any] | None = None, /, **more: Any) -> Settings:
        """A copy with changes; see `update`."""
        copy = self._of(self._native)
        copy.update({**(changes or {}), **more})
        return copy

    def as_dict(self) -> dict[str, Any]:
        """All settings, the groups as dicts in it; an optional group that is not there is None."""
        made: dict[str, Any] = json.loads(self._native.json())
        return made

    def toml(self, *, comments: bool = False) -> str:
        """A settings file with all settings; with comments also what each means."""
        return self._native.toml(comments)

    def differences(self, other: Settings) -> list[str]:
        """What `other` has otherwise, a line each."""
        return self._native.differences(other._native)

    @property
    def old(self) -> list[str]:
        """What was read in an earlier format, and how to write it now, a line each."""
        return self._native.old

    def __getitem__(self, key: str) -> Any:
        all_of_them = self.as_dict()
        if key in all_of_them:
            value = all_of_them[key]
            # A change of a copy would change nothing and say nothing.
            return MappingProxyType(value) if isinstance(value, dict) else value
        group, _, name = key.partition(".")
        try:
            return all_of_them[group][name]
        except (KeyError, TypeError):
            raise KeyError(key) from None

    def __setitem__(self, key: str, value: Any) -> None:
        self.update({key: value})

    if not TYPE_CHECKING:
        # Type checkers know the slots, and would take this for leave to set anything.
        def __setattr__(self, name: str, value: Any) -> None:
            if name not in Settings.__slots__:
                raise AttributeError(
                    f'settings have no attribute {name}; write settings["{name}"] = {value!r}'
                )
            super().__setattr__(name, value)

    def __iter__(self) -> Iterator[str]:
        for name, value in self.as_dict().items():
            if isinstance(value, dict):
                yield from (f"{name}.{key}" for key in value)
            else:
                yield name

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Settings) and self.toml() == other.toml()

    __hash__ = None  # type: ignore[assignment]

    def __repr__(self) -> str:
        changes = Settings().differences(self)
        return f"<Settings: {'; '.join(changes) if changes else 'the defaults'}>"

    def __reduce__(self) -> tuple[Any, ...]:
        return Settings.from_toml, (self.toml(),)


Given: TypeAlias = Settings | Mapping[str, Any] | str | os.PathLike[str] | None


def native_of(given: Given) -> _native.Settings:
    """Settings in any of the ways in which functions take them."""
    if isinstance(given, Settings):
        return given._native
    if given is None:
        return _native.Settings()
    if isinstance(given, Mapping):
        return Settings().replaced(given)._native
    if isinstance(given, str | os.PathLike):
        return Settings(given)._native
    raise Error(f"settings: found {type(given).__name__}, expected Settings, a dict or a file")


def _is_table(value: Any) -> bool:
    return isinstance(value, list | tuple | Mapping)


def _word(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    text = "none" if value is None else str(value)
    if "," in text:
        raise Error(f'settings: found "{text}", expected one value a key')
    return text


def _toml(tables: Mapping[str, Any]) -> str:
    return "".join(f"{key} = {_inline(value)}\n" for key, value in tables.items())


def _inline(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key} = {_inline(one)}" for key, one in value.items()) + "}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_inline(one) for one in value) + "]"
    if isinstance(value, str):
        return json.dumps(value)
    return _word(value)
