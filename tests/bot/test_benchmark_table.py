"""That every benchmark runs, at the smallest sizes, and that their table says what they measured. Nothing
here is about how fast anything is."""

from __future__ import annotations

import json
import math
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from benchmarks.__main__ import LONG, QUICK, figures_of, main, measured
from benchmarks.figures import (
    Figure,
    alone,
    as_values,
    at_most,
    beside,
    of_values,
    ratio_at_least,
    ratio_at_most,
    table,
    times_as_fast,
)

pytestmark = pytest.mark.sqlite
FOLDER = Path(__file__).parents[1] / "benchmarks"
SHARED = {"__main__", "figures", "stopwatch"}


def test_every_script_of_the_folder_is_in_the_table() -> None:
    names = [*QUICK, *LONG]
    assert sorted({path.stem for path in FOLDER.glob("*.py")} - SHARED) == sorted(names)
    assert len(set(names)) == len(names)


def marked(name: str) -> Any:
    """Its case; what measures a server needs one."""
    return pytest.param(name, marks=pytest.mark.postgresql) if "postgresql" in name else name


@pytest.mark.parametrize("name", [marked(name) for name in (*QUICK, *LONG)])
def test_a_script_measures_something_and_says_what(name: str) -> None:
    figures = figures_of(name, tiny=True)
    assert figures
    names = [figure.name for figure in figures]
    assert len(set(names)) == len(names)
    for figure in figures:
        assert figure.name.startswith(f"{name}.")
        assert figure.what
        assert figure.unit
        assert math.isfinite(figure.measured)
        assert figure.measured >= 0
        assert (figure.reference is None) == (figure.ratio is None)
        if figure.reference is not None:
            assert " beside " in figure.what  # the reader must know beside what
            assert figure.reference > 0
        assert figure.met in ((None,) if figure.aim is None else (True, False))
        assert of_values(json.loads(json.dumps(as_values(figure)))) == figure
    lines = table(figures).splitlines()
    assert len(lines) == len(figures) + 1
    assert all(figure.what in line for figure, line in zip(figures, lines[1:], strict=True))


def told(figure: Figure) -> str:
    """The line of the table."""
    _, line = table([figure]).splitlines()
    return " ".join(line.split())


@pytest.mark.parametrize(
    ("figure", "line"),
    [
        (
            beside("a.b", "job", 3.0, 2.0, aim=ratio_at_most(1.5)),
            "a.b job 3.00 2.00 ms 1.50 <= 1.5 times met",
        ),
        (
            beside("a.b", "job", 3.1, 2.0, aim=ratio_at_most(1.5)),
            "a.b job 3.10 2.00 ms 1.55 <= 1.5 times MISSED",
        ),
        (
            times_as_fast("a.b", "job", 2.0, 400.0, aim=ratio_at_least(100)),
            "a.b job (times as fast) 2.00 400 ms 200 >= 100 times met",
        ),
        (
            times_as_fast("a.b", "job", 4.0, 2.0, aim=ratio_at_least(1)),
            "a.b job (times as fast) 4.00 2.00 ms 0.50 >= 1 times MISSED",
        ),
        (alone("a.b", "job", 20.0, aim=at_most(20)), "a.b job 20.0 - ms - <= 20 ms met"),
        (alone("a.b", "job", 20.01, aim=at_most(20)), "a.b job 20.0 - ms - <= 20 ms MISSED"),
        (alone("a.b", "job", 0.01234, "s"), "a.b job 0.0123 - s - - -"),
        (beside("a.b", "job", 12345.6, 0.5, "s"), "a.b job 12,346 0.50 s 24,691 - -"),
    ],
)
def test_the_table_says_whether_an_aim_was_met(figure: Figure, line: str) -> None:
    assert told(figure) == line


def test_the_command_prints_what_machines_read(tmp_path: Path) -> None:
    command = [sys.executable, str(FOLDER), "--tiny", "--json", "--only", "engine", "timing"]
    done = subprocess.run(command, capture_output=True, text=True, check=True, cwd=tmp_path)
    read: dict[str, Any] = json.loads(done.stdout)
    assert read["failed"] == []
    assert read["cores"] >= 1
    scripts = [one["name"].split(".")[0] for one in read["figures"]]
    assert scripts == sorted(scripts, key=["engine", "timing"].index)
    assert set(scripts) == {"engine", "timing"}
    (chance,) = [one for one in read["figures"] if one["name"] == "timing.chance"]
    assert chance["aim"] == {"limit": 20, "at_least": True, "of_ratio": True}
    assert chance["met"] == (chance["ratio"] >= 20)


def test_the_command_prints_one_table_and_counts_what_was_missed(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    found = (alone("a.slow", "slow", 3.0, aim=at_most(1)), alone("a.quick", "quick", 1.0, aim=at_most(1)))
    monkeypatch.setattr("benchmarks.__main__.figures_of", lambda _name, _tiny: found)
    assert main(["--only", "engine"]) == 0  # a missed aim is told, and no failure
    said = capsys.readouterr().out
    assert said.count("\n") == 1 + len(found) + 3
    assert "2 figures, 2 with an aim, missed: a.slow" in said


def test_a_script_that_fails_is_told_and_the_others_go_on(capfd: pytest.CaptureFixture[str]) -> None:
    figures, failed = measured(["no_such_script", "engine"], tiny=True)
    assert failed == ["no_such_script"]
    assert {figure.name.split(".")[0] for figure in figures} == {"engine"}
    assert "no_such_script" in capfd.readouterr().err
