"""All benchmarks as one table: `.venv/bin/python tests/benchmarks`.

    --only NAME ...   these scripts alone, such as `--only engine chat`
    --long            also those that take more than half a minute: LONG below
    --json            for machines
    --tiny            as small as possible, to see that they run; the figures mean nothing

Each script runs in a process of its own, so that the memory of one is not another's; one that fails is told,
and the others go on. The exit code is 1 where one failed, else 0: an aim that is missed is told in the table.
"""

from __future__ import annotations

import argparse
import importlib
import json
import os
import platform
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

HERE = Path(__file__).parent
PLACES = [str(HERE.parents[1]), str(HERE.parent)]
if __name__ == "__main__":
    sys.path[:1] = PLACES  # instead of this folder, whose chat.py would hide tests/chat

from benchmarks.figures import Figure, as_values, of_values, table  # noqa: E402

QUICK = (
    "engine",
    "inputs",
    "routes",
    "timing",
    "drills",
    "gamefiles",
    "patches",
    "patch_day",
    "storage",
    "storage_postgresql",
    "scheduler",
    "pictures",
    "chat",
    "load",
)
LONG = ("storage_growing", "routes_deep", "fuzz_gamefiles")


def figures_of(name: str, tiny: bool) -> tuple[Figure, ...]:
    """What the script of this name measures, in this process."""
    script = importlib.import_module(f"benchmarks.{name}")
    found: tuple[Figure, ...] = script.figures(tiny)
    return found


def in_its_own_process(name: str, tiny: bool) -> list[Figure] | None:
    """The same in another process; None where it fails. What it says goes to stderr."""
    print(f"{name} ...", file=sys.stderr, flush=True)
    command = [sys.executable, str(HERE), "--json", "--only", name, *(["--tiny"] if tiny else [])]
    done = subprocess.run(command, stdout=subprocess.PIPE, text=True, check=False)
    if done.returncode:
        return None
    return [of_values(values) for values in json.loads(done.stdout)["figures"]]


def measured(names: Sequence[str], tiny: bool) -> tuple[list[Figure], list[str]]:
    """All figures, and the names of the scripts that failed."""
    if len(names) == 1:
        return list(figures_of(names[0], tiny)), []
    figures: list[Figure] = []
    failed = []
    for name in names:
        found = in_its_own_process(name, tiny)
        if found is None:
            failed.append(name)
        else:
            figures += found
    return figures, failed


def main(arguments: Sequence[str] | None = None) -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(
        prog="tests/benchmarks", description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument(
        "--only", nargs="+", choices=(*QUICK, *LONG), metavar="NAME", help="these scripts alone"
    )
    parser.add_argument("--long", action="store_true", help=f"also {', '.join(LONG)}")
    parser.add_argument("--json", action="store_true", help="for machines")
    parser.add_argument("--tiny", action="store_true", help="as small as possible")
    asked = parser.parse_args(arguments)
    names = asked.only or (*QUICK, *(LONG if asked.long else ()))
    before, cores = os.getloadavg()[0], os.cpu_count() or 1
    if before > cores / 2 and not asked.json:
        print(f"Load {before:.1f} on {cores} cores: others slow this down", file=sys.stderr)
    figures, failed = measured(names, asked.tiny)
    machine = {
        "python": platform.python_version(),
        "cores": cores,
        "load_before": before,
        "load_after": os.getloadavg()[0],
    }
    if asked.json:
        print(json.dumps({**machine, "figures": [as_values(one) for one in figures], "failed": failed}))
    else:
        print(table(figures))
        missed = [one.name for one in figures if one.met is False]
        aims = sum(one.met is not None for one in figures)
        print(f"\n{len(figures)} figures, {aims} with an aim, missed: {', '.join(missed) or 'none'}")
        print(", ".join(f"{name.replace('_', ' ')} {value}" for name, value in machine.items()))
    for name in failed:
        print(f"{name} FAILED", file=sys.stderr)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
