"""A soak by hand: `python tests/soaking [MINUTES] [--database postgresql] [--seed N] [--log FILE]`."""

from __future__ import annotations

import argparse
import asyncio
import shutil
import sys
import tempfile
from dataclasses import asdict
from pathlib import Path

sys.path[0] = str(Path(__file__).parents[1])  # where tests find their helpers

import databases  # noqa: E402
from soaking.evening import LOG, Evening, Report  # noqa: E402


def show(report: Report) -> None:
    """What came of it, a line for each thing."""
    for name, value in asdict(report).items():
        if name == "memory_mb":
            tenth = max(1, len(value) // 10)
            value = [round(each, 1) for each in value[::tenth]]
        print(f"{name:>14}: {value}")
    print(f"{'growth':>14}: {report.growth:+.1%}")


def main() -> None:
    """Run it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("minutes", type=float, nargs="?", default=30.0)
    parser.add_argument("--database", choices=("sqlite", "postgresql"), default="sqlite")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--log", type=Path, help="where the bot's log is to be copied to")
    given = parser.parse_args()
    databases.use(given.database)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        try:
            database = databases.database_at(folder)
            show(asyncio.run(Evening(60 * given.minutes, given.seed, database, folder).pass_by()))
        finally:
            if given.log:
                shutil.copy(folder / LOG, given.log)
            databases.end()


if __name__ == "__main__":
    main()
