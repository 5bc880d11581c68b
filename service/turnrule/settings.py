"""Settings: what a site decides, from `TURNRULE_*` and a file, checked once at start.

A variable of the environment goes before the file that `TURNRULE_SETTINGS` names, and the file before the default.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from pathlib import Path

_PREFIX = "TURNRULE_"
_FILE = "TURNRULE_SETTINGS"
_NO_SETTINGS = (_FILE, "TURNRULE_KEY")
"""Variables that name the file, and the key under which a command works."""

_HIGHEST_PORT = 65_535
_LEVELS = ("debug", "info", "warning", "error")


class SettingsError(Exception):
    """A setting cannot be used; the message names it and the remedy."""

    code = "invalid_setting"


@dataclass(frozen=True, slots=True)
class Settings:
    """Everything that can be set, with what holds when nothing is.

    `database` is a path of the embedded store or a `postgresql://` address; `rate_limit` counts requests a minute
    for each key and worker, 0 for no limit; `log_level` is debug, info, warning or error. `pack_key` is the path of the
    Ed25519 private key (PEM) that signs the packs of releases; they go out unsigned where there is none.
    """

    database: str = "turnrule.sqlite"
    pack: str = ""
    host: str = "127.0.0.1"
    port: int = 8080
    workers: int = 2
    threads: int = 4
    log_level: str = "info"
    rate_limit: int = 0
    pack_key: str = ""

    def __post_init__(self) -> None:
        """Refuse what no site can mean."""
        if not self.database:
            raise SettingsError(_refused("database", "give a path or a postgresql:// address"))
        if not 0 <= self.port <= _HIGHEST_PORT:
            raise SettingsError(_refused("port", "give a number from 0 to 65535; 0 takes a free one"))
        if self.workers < 1 or self.threads < 1:
            raise SettingsError(_refused("workers", "workers and threads are 1 or more"))
        if self.rate_limit < 0:
            raise SettingsError(_refused("rate_limit", "give requests a minute, or 0 for no limit"))
        if self.log_level not in _LEVELS:
            raise SettingsError(_refused("log_level", f"give one of {', '.join(_LEVELS)}"))

    @property
    def is_embedded(self) -> bool:
        """True where the database is a file of this machine."""
        return "://" not in self.database


def _refused(name: str, remedy: str) -> str:
    return f"{_PREFIX}{name.upper()}: {remedy}"


def read_settings(environment: Mapping[str, str]) -> Settings:
    """The settings that hold in this environment. Raises `SettingsError`."""
    known: dict[str, Callable[[str], object]] = {
        field.name: int if field.type in ("int", int) else str for field in fields(Settings)
    }
    found: dict[str, object] = {}
    path = environment.get(_FILE)
    if path:
        found.update(_from_file(Path(path), known))
    for variable, text in environment.items():
        if not variable.startswith(_PREFIX) or variable in _NO_SETTINGS:
            continue
        name = variable.removeprefix(_PREFIX).lower()
        if name in known:
            found[name] = _converted(name, text, known[name])
        elif not name.startswith("test_"):
            raise SettingsError(f"{variable}: there is no such setting; known are {_listed(known)}")
    return Settings(**found)  # type: ignore[arg-type]


def _listed(known: Mapping[str, object]) -> str:
    return ", ".join(f"{_PREFIX}{name.upper()}" for name in known)


def _converted(name: str, text: str, kind: Callable[[str], object]) -> object:
    try:
        return kind(text)
    except ValueError as error:
        raise SettingsError(_refused(name, f"{text!r} is no whole number")) from error


def _from_file(path: Path, known: Mapping[str, Callable[[str], object]]) -> dict[str, object]:
    """The settings of a TOML file, by the names of `Settings`."""
    try:
        document = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise SettingsError(f"{_FILE}: cannot read {path}: {error}") from error
    found: dict[str, object] = {}
    for name, value in document.items():
        if name not in known:
            raise SettingsError(f"{path}: there is no setting {name!r}; known are {', '.join(known)}")
        if not isinstance(value, int if known[name] is int else str) or isinstance(value, bool):
            raise SettingsError(f"{path}: {name} must be {'a whole number' if known[name] is int else 'text'}")
        found[name] = value
    return found
