"""The developers' page says of group drills what the table of the tests does."""

from __future__ import annotations

import tomllib
from pathlib import Path

from conftest import DATA

HEAD = ["What happens", "What follows"]


def test_the_developers_page_has_the_table_of_what_happens_to_drills() -> None:
    events = tomllib.loads((DATA / "drill_events.toml").read_text("utf-8"))["event"]
    lines = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text("utf-8").splitlines()
    cells = [[cell.strip() for cell in line.strip().strip("|").split("|")] for line in lines]
    assert HEAD in cells
    begin = cells.index(HEAD) + 2  # the rule below the head
    assert cells[begin : begin + len(events)] == [[one["event"], one["then"]] for one in events]
    assert len(cells) == begin + len(events) or len(cells[begin + len(events)]) == 1
