"""Lists of tables such as [[motion]]: reading each entry, and names that must differ."""

from __future__ import annotations

from collections.abc import Iterable

from core.gamefile.problems import Place, Problems, ordinal
from core.gamefile.schema import Model, validated
from core.text import clipped, shown

MAX_ENTRIES = 200


def read_entries(
    file: str, table: str, model: type[Model], data: object, problems: Problems, owner: str = ""
) -> list[tuple[Place, Model]]:
    """Each entry of a [[table]] that can be read, with its place."""
    if data is None:
        return []
    of = f" of {owner}" if owner else ""
    if not isinstance(data, list):
        problems.add(
            Place(file, table, of.strip()), "", f"{shown(data)} is not a list of tables", f"write {table}"
        )
        return []
    if len(data) > MAX_ENTRIES:
        problems.add(
            Place(file, table, of.strip()), "", f"has {len(data)} entries", f"keep at most {MAX_ENTRIES}"
        )
        return []
    found = []
    for number, entry in enumerate(data, start=1):
        name = entry.get("name") if isinstance(entry, dict) else None
        label = f" ({clipped(name.strip())})" if isinstance(name, str) and name.strip() else ""
        place = Place(file, table, f"{ordinal(number)} entry{of}{label}")
        section = validated(model, entry, place, problems)
        if section is not None:
            found.append((place, section))
    return found


def names_in(entries: object) -> tuple[str, ...] | None:
    """The names of a list of tables, of entries with other mistakes too; None where one has none."""
    if entries is None:
        return ()
    if not isinstance(entries, list):
        return None
    names = [entry.get("name") if isinstance(entry, dict) else None for entry in entries]
    found = tuple(name.strip() for name in names if isinstance(name, str) and name.strip())
    return found if len(found) == len(entries) else None


def refuse_repeats(what: str, named: Iterable[tuple[Place, str, str]], problems: Problems) -> None:
    """Note each name (place, field, name) that two places have; upper case does not matter."""
    first_of: dict[str, Place] = {}
    for place, field, name in named:
        first = first_of.setdefault(name.casefold(), place)
        if first is not place:
            owner = f"{first.table} {first.row}".strip()
            problems.add(place, field, f"{shown(name)} is taken by {owner}", f"give each {what} its own")
