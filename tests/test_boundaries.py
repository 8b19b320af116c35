"""The directions in which the parts of the program may know each other."""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]

MAY_KNOW: dict[str, set[str]] = {
    "core": set(),
    "bot.results": {"core"},
    "bot.ports": {"core"},
    "bot.limits": set(),
    "bot.words": {"core", "bot.results"},
    "bot.render": {"bot.limits", "core", "bot.results"},
    "bot.storage": {"core", "bot.results", "bot.ports"},
    "bot.services": {"core", "bot.storage", "bot.results", "bot.ports", "bot.words", "bot.gamefiles"},
    "bot.scheduler": {"core", "bot.services", "bot.ports", "bot.results"},
    "bot.client": {"bot.limits", "core", "bot.ports"},
    "bot.cogs": {"bot.limits", "core", "bot.services", "bot.render", "bot.results", "bot.components"},
    "bot.components": {"bot.limits", "core", "bot.services", "bot.render", "bot.results"},
    "bot.worker": {"bot.ports"},
    "bot.config": set(),
    "bot.heap": set(),
    "bot.doctor": {"core", "bot.config", "bot.gamefiles", "bot.services", "bot.storage", "bot.render"},
    "bot.gamefiles": {"core", "bot.results"},
}
"""What each part may import besides itself. Those in COMPOSES wire the program, and may know all."""

COMPOSES = {"bot", "bot.app", "bot.__main__", "bot.room", "bot.terminal"}
CORE_MAY_USE = set(sys.stdlib_module_names) | {"pydantic", "core"}
CORE_MUST_NOT_USE = {"random", "time", "logging", "os", "pathlib", "socket", "sqlite3", "asyncio", "io"}
WITHOUT_PLATFORM_OR_SQL = ("bot.services", "bot.results", "bot.words", "bot.ports")


def modules() -> Iterator[tuple[str, Path]]:
    for folder in ("core", "bot"):
        for path in sorted((ROOT / folder).rglob("*.py")):
            parts = path.relative_to(ROOT).with_suffix("").parts
            yield ".".join(parts[:-1] if parts[-1] == "__init__" else parts), path


def imports(module: str, path: Path) -> Iterator[str]:
    package = module if path.name == "__init__.py" else module.rpartition(".")[0]
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = (
                ".".join(package.split(".")[: len(package.split(".")) - node.level + 1]) if node.level else ""
            )
            name = ".".join(part for part in (base, node.module or "") if part)
            yield from (f"{name}.{alias.name}" for alias in node.names)


def part_of(module: str) -> str:
    """`bot.render` for `bot.render.text`; `core` for everything in the engine."""
    pieces = module.split(".")
    return "core" if pieces[0] == "core" else ".".join(pieces[:2])


MODULES = list(modules())


@pytest.mark.parametrize(("module", "path"), MODULES, ids=[module for module, _ in MODULES])
def test_a_module_imports_only_what_its_part_may_know(module: str, path: Path) -> None:
    part = part_of(module)
    if part in COMPOSES:
        return
    assert part in MAY_KNOW, f"{module}: say in MAY_KNOW what {part} may import"
    known = {part_of(name) for name in imports(module, path) if name.split(".")[0] in ("bot", "core")}
    assert known <= MAY_KNOW[part] | {part}


@pytest.mark.parametrize(
    ("module", "path"),
    [entry for entry in MODULES if part_of(entry[0]) == "core"],
    ids=lambda value: str(value),
)
def test_the_engine_uses_only_the_standard_library_and_pydantic_and_touches_nothing(
    module: str, path: Path
) -> None:
    tops = {name.split(".")[0] for name in imports(module, path)}
    assert tops <= CORE_MAY_USE, module
    assert not tops & CORE_MUST_NOT_USE, module
    calls = {
        node.func.id
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    }
    assert not calls & {"open", "print", "input", "exec", "eval"}, module


@pytest.mark.parametrize(
    ("module", "path"),
    [entry for entry in MODULES if part_of(entry[0]) in WITHOUT_PLATFORM_OR_SQL],
    ids=lambda value: str(value),
)
def test_services_know_neither_the_chat_library_nor_sql(module: str, path: Path) -> None:
    tops = {name.split(".")[0] for name in imports(module, path)}
    assert not tops & {"discord", "sqlalchemy", "aiosqlite", "sqlite3", "alembic"}, module


def test_a_forbidden_import_would_be_seen(tmp_path: Path) -> None:
    source = tmp_path / "frames.py"
    source.write_text("import bot.render\nfrom bot import services\nfrom . import cancels\n", "utf-8")
    assert set(imports("core.frames", source)) == {"bot.render", "bot.services", "core.cancels"}


@pytest.mark.parametrize(("module", "path"), MODULES, ids=[module for module, _ in MODULES])
def test_a_file_stays_short_enough_to_hold_in_the_head(module: str, path: Path) -> None:
    assert len(path.read_text("utf-8").splitlines()) <= 400, module
