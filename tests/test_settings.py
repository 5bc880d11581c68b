"""Settings: from the environment before the file before the default, and nothing unknown."""

from __future__ import annotations

from pathlib import Path

import pytest

from turnrule.settings import Settings, SettingsError, read_settings


def test_nothing_set_gives_the_defaults() -> None:
    assert read_settings({"PATH": "x"}) == Settings()


def test_the_environment_goes_before_the_file_and_the_file_before_the_default(tmp_path: Path) -> None:
    path = tmp_path / "turnrule.toml"
    path.write_text('port = 9000\nworkers = 3\nlog_level = "warning"\n', encoding="utf-8")
    settings = read_settings({"TURNRULE_SETTINGS": str(path), "TURNRULE_PORT": "9001"})
    assert (settings.port, settings.workers, settings.log_level, settings.threads) == (9001, 3, "warning", 4)


def test_an_address_is_no_file() -> None:
    assert Settings().is_embedded
    assert not Settings(database="postgresql://db/turnrule").is_embedded


@pytest.mark.parametrize(
    ("variable", "text", "words"),
    [
        ("TURNRULE_PORT", "80a", "no whole number"),
        ("TURNRULE_PORT", "65536", "0 to 65535"),
        ("TURNRULE_WORKERS", "0", "1 or more"),
        ("TURNRULE_DATABASE", "", "give a path"),
        ("TURNRULE_RATE_LIMIT", "-1", "requests a minute"),
        ("TURNRULE_LOG_LEVEL", "loud", "debug, info"),
        ("TURNRULE_PROT", "1", "no such setting"),
    ],
)
def test_a_setting_that_cannot_be_used_is_named_with_its_remedy(variable: str, text: str, words: str) -> None:
    with pytest.raises(SettingsError, match=words) as raised:
        read_settings({variable: text})
    assert "TURNRULE_" in str(raised.value)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("port = true\n", "whole number"),
        ('port = "80"\n', "whole number"),
        ("host = 1\n", "must be text"),
        ("prot = 1\n", "no setting 'prot'"),
        ("port = \n", "cannot read"),
    ],
)
def test_a_settings_file_that_cannot_be_used_is_refused(tmp_path: Path, text: str, words: str) -> None:
    path = tmp_path / "turnrule.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(SettingsError, match=words):
        read_settings({"TURNRULE_SETTINGS": str(path)})


def test_a_settings_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match="cannot read"):
        read_settings({"TURNRULE_SETTINGS": str(tmp_path / "none.toml")})
