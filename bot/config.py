"""Settings from config.toml and the environment. Importing this reads nothing."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Literal

from pydantic import Field, SecretStr, ValidationError, field_validator
from pydantic_settings import BaseSettings, EnvSettingsSource, SettingsConfigDict

CONFIG_FILE = Path("config.toml")
PREFIX = "CORNERMAN_"


class Settings(BaseSettings):
    """What a host may set. config.example.toml explains each."""

    model_config = SettingsConfigDict(env_prefix=PREFIX, extra="forbid", frozen=True)

    default_game: str = "Saltglass"
    default_character: str = ""
    games_folder: Path = Path("games")
    database: Path | SecretStr = Path("cornerman.db")
    """A file, or a database's URL, which may hold a password."""
    token: SecretStr = SecretStr("")
    log_level: Literal["debug", "info", "warning", "error"] = "info"
    log_format: Literal["text", "json"] = "text"
    metrics_port: int = Field(0, ge=0, le=65_535)

    @field_validator("database", mode="before")
    @classmethod
    def _read_database(cls, given: object) -> object:
        if not isinstance(given, str):
            return given
        return SecretStr(given) if "://" in given else Path(given)


class ConfigError(ValueError):
    """Settings that cannot be used; the message is one sentence for the reader."""


def read_settings(file: Path | None = None) -> Settings:
    """The settings: the environment's first, then the file's, then the defaults.

    Without `file`, config.toml in the current folder is read if it is there. A relative database lies in the
    folder of the file. Raises ConfigError.
    """
    given = _read(file) if file is not None else _read(CONFIG_FILE) if CONFIG_FILE.is_file() else {}
    unknown = sorted(given.keys() - Settings.model_fields.keys())
    if unknown:
        known = ", ".join(Settings.model_fields)
        raise ConfigError(f"{file or CONFIG_FILE}: {unknown[0]} is no setting; there are {known}")
    try:
        settings = Settings.model_validate({**given, **EnvSettingsSource(Settings)()})
    except ValidationError as error:
        first = error.errors()[0]
        name = ".".join(map(str, first["loc"]))
        raise ConfigError(f"The setting {name} is wrong: {first['msg']}") from None
    if isinstance(settings.database, SecretStr):
        return settings
    folder = (file or CONFIG_FILE).parent
    return settings.model_copy(update={"database": folder / settings.database})


def _read(file: Path) -> dict[str, object]:
    try:
        return tomllib.loads(file.read_text(encoding="utf-8"))
    except OSError as error:
        raise ConfigError(f"{file} cannot be read ({(error.strerror or 'it failed').lower()})") from None
    except ValueError as error:
        raise ConfigError(f"{file} is not proper TOML: {error}") from None
