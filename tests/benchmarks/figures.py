"""What a benchmark measured, beside its reference in the same run and its aim; and the table of it all."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Aim:
    """What a figure should come to at most, or with `at_least` at least: its ratio where `of_ratio`, else
    what was measured, in its unit."""

    limit: float
    at_least: bool = False
    of_ratio: bool = True

    def told(self, unit: str) -> str:
        """As the table has it; `unit`: the figure's."""
        return f"{'>=' if self.at_least else '<='} {self.limit:g} {'times' if self.of_ratio else unit}"


def at_most(limit: float) -> Aim:
    """No more than this, in the figure's unit."""
    return Aim(limit, of_ratio=False)


def ratio_at_most(limit: float) -> Aim:
    """No more than so many times the reference."""
    return Aim(limit)


def ratio_at_least(limit: float) -> Aim:
    """At least so many times the reference, or as fast as it."""
    return Aim(limit, at_least=True)


@dataclass(frozen=True, slots=True)
class Figure:
    """One line of the table. `name`: its script and its own, with a dot between; `what`: for the reader, with
    the reference after "beside"; `measured` and `reference` are in `unit`. `ratio` is measured / reference,
    or reference / measured where the words say "times as fast". Without a reference both are None."""

    name: str
    what: str
    measured: float
    reference: float | None
    unit: str
    ratio: float | None
    aim: Aim | None

    @property
    def met(self) -> bool | None:
        """Whether the aim was met; None without one."""
        if self.aim is None:
            return None
        found = self.ratio if self.aim.of_ratio else self.measured
        assert found is not None, f"{self.name} has an aim for its ratio, and none"
        return found >= self.aim.limit if self.aim.at_least else found <= self.aim.limit


def alone(name: str, what: str, measured: float, unit: str = "ms", aim: Aim | None = None) -> Figure:
    """A figure that has no reference."""
    return Figure(name, what, measured, None, unit, None, aim)


def beside(
    name: str, what: str, measured: float, reference: float, unit: str = "ms", aim: Aim | None = None
) -> Figure:
    """A figure as so many times its reference."""
    return Figure(name, what, measured, reference, unit, measured / reference, aim)


def times_as_fast(
    name: str, what: str, measured: float, reference: float, unit: str = "ms", aim: Aim | None = None
) -> Figure:
    """A time, and how many times as fast that is as its reference."""
    return Figure(name, f"{what} (times as fast)", measured, reference, unit, reference / measured, aim)


def as_values(figure: Figure) -> dict[str, Any]:
    """A figure as JSON has it; `of_values` reads it back."""
    aim = figure.aim
    return {
        "name": figure.name,
        "what": figure.what,
        "measured": figure.measured,
        "reference": figure.reference,
        "unit": figure.unit,
        "ratio": figure.ratio,
        "aim": aim and {"limit": aim.limit, "at_least": aim.at_least, "of_ratio": aim.of_ratio},
        "met": figure.met,
    }


def of_values(values: dict[str, Any]) -> Figure:
    """The figure that `as_values` wrote."""
    aim = values["aim"]
    rest = {key: value for key, value in values.items() if key not in ("aim", "met")}
    return Figure(**rest, aim=Aim(**aim) if aim else None)


HEADER = ("", "what", "measured", "reference", "unit", "ratio", "aim", "met")
RIGHT = (2, 3, 5)
"""The columns of numbers."""


def table(figures: Iterable[Figure]) -> str:
    """All of it, a line each."""
    rows = [HEADER, *map(_row, figures)]
    widths = [max(len(row[column]) for row in rows) for column in range(len(HEADER))]
    return "\n".join(_line(row, widths) for row in rows)


def _row(figure: Figure) -> tuple[str, ...]:
    return (
        figure.name,
        figure.what,
        _shown(figure.measured),
        _shown(figure.reference),
        figure.unit,
        _shown(figure.ratio),
        figure.aim.told(figure.unit) if figure.aim else "-",
        {True: "met", False: "MISSED", None: "-"}[figure.met],
    )


def _line(row: Sequence[str], widths: Sequence[int]) -> str:
    cells = [
        cell.rjust(width) if at in RIGHT else cell.ljust(width)
        for at, (cell, width) in enumerate(zip(row, widths, strict=True))
    ]
    return "  ".join(cells).rstrip()


def _shown(value: float | None) -> str:
    """With about three digits that count."""
    if value is None:
        return "-"
    return f"{value:,.{0 if value >= 100 else 1 if value >= 10 else 2 if value >= 0.1 or not value else 4}f}"
