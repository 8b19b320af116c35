"""config.example.toml against bot/config.py: each setting is there, explained, with its default."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Literal, get_args, get_origin

import pytest
from pydantic import SecretStr

from bot.config import PREFIX, ConfigError, Settings, read_settings

EXAMPLE = Path(__file__).parents[2] / "config.example.toml"
LINES = EXAMPLE.read_text("utf-8").splitlines()
GIVEN = tomllib.loads("\n".join(LINES))
FIELDS = Settings.model_fields
CHOICES = {
    name: get_args(field.annotation)
    for name, field in FIELDS.items()
    if get_origin(field.annotation) is Literal
}

pytestmark = pytest.mark.usefixtures("own_folder")


def comment_of(name: str) -> str:
    """What stands above a setting, without a blank line between."""
    at = next(number for number, line in enumerate(LINES) if line.startswith(f"{name} ="))
    begin = at
    while begin > 0 and LINES[begin - 1].startswith("#"):
        begin -= 1
    return " ".join(line.removeprefix("#").strip() for line in LINES[begin:at])


def test_it_has_all_settings_of_the_code_in_their_order_and_no_other() -> None:
    assert list(GIVEN) == list(FIELDS)


@pytest.mark.parametrize("name", FIELDS)
def test_each_setting_stands_there_with_its_default(name: str) -> None:
    default = FIELDS[name].default
    plain = default.get_secret_value() if isinstance(default, SecretStr) else default
    assert GIVEN[name] == (str(plain) if isinstance(plain, Path) else plain)


@pytest.mark.parametrize("name", FIELDS)
def test_each_setting_is_explained_in_whole_sentences(name: str) -> None:
    said = comment_of(name)
    assert len(said) > 40
    assert said.endswith((".", '"Kitewind"')), said


@pytest.mark.parametrize("name", CHOICES)
def test_a_setting_with_choices_names_each(name: str) -> None:
    assert all(f'"{choice}"' in comment_of(name) for choice in CHOICES[name])


def test_it_can_be_used_as_it_is() -> None:
    read = read_settings(EXAMPLE)
    assert read == Settings().model_copy(update={"database": EXAMPLE.parent / "cornerman.db"})


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("log_level", "warning"),
        ("log_format", "json"),
        ("metrics_port", "9464"),
        ("default_character", "Odrun"),
    ],
)
def test_the_environment_wins_over_the_file(name: str, said: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(PREFIX + name.upper(), said)
    assert str(getattr(read_settings(EXAMPLE), name)) == said


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("log_level", "loud"),
        ("log_level", "critical"),
        ("log_format", "xml"),
        ("metrics_port", "-1"),
        ("metrics_port", "65536"),
        ("metrics_port", "yes"),
    ],
)
def test_a_value_that_cannot_be_is_refused_by_the_setting_s_name(
    name: str, said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(PREFIX + name.upper(), said)
    with pytest.raises(ConfigError, match=rf"^The setting {name} is wrong: .+$") as wrong:
        read_settings(EXAMPLE)
    assert "\n" not in str(wrong.value)
