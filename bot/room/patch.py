"""The next version of the room's first game: as files to send, and sent as a moderator would."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import simcord

from bot.gamefiles import files_of, find_game, read_source, with_cell, with_version
from bot.render.forms import practice_label
from bot.results.files import Upload

TABLE = Path(__file__).with_name("patch.toml")


@dataclass(frozen=True, slots=True)
class NextVersion:
    """The files of the version, and why it is loaded."""

    game: str
    version: str
    reason: str
    files: tuple[Upload, ...]

    def write(self, folder: Path) -> Path:
        """Write the files into a folder of their own within this one; that folder."""
        own = folder / f"{self.game}-{self.version}"
        own.mkdir()
        for file in self.files:
            (own / file.name).write_bytes(file.data)
        return own


def next_version() -> NextVersion:
    """The packaged game with the cells of the table in it."""
    table = tomllib.loads(TABLE.read_text("utf-8"))
    source = with_version(read_source(find_game(table["game"])), table["version"])
    for cell in table["cell"]:
        source = with_cell(source, cell["character"], cell["move"], cell["column"], cell["to"])
    return NextVersion(table["game"], table["version"], table["reason"], files_of(source))


async def load_patch(
    moderator: simcord.MemberActor, channel: simcord.ChannelHandle, new: NextVersion
) -> bool:
    """Send the files, use them, and post what they change, button by button; False where the version is used
    already."""
    names = ("file", *(f"file_{number}" for number in range(2, len(new.files) + 1)))
    files = {name: (file.name, file.data) for name, file in zip(names, new.files, strict=True)}
    shown = _answer(await moderator.slash(channel, "game load", reason=new.reason, **files))
    if practice_label("use-upload") not in _labels(shown):
        return False
    used = _answer(await moderator.click(shown, label=practice_label("use-upload")))
    await moderator.click(used, label=practice_label("post-patch"))
    return True


def _answer(result: simcord.InteractionResult) -> Any:
    assert result.response is not None, "nothing was answered"
    return result.response


def _labels(answer: Any) -> list[str | None]:
    parts = [part if isinstance(part, dict) else part.to_dict() for part in answer.components]
    return [part.get("label") for part in simcord.components.walk_components(parts)]
