"""Sentences from the tables of wording, with their facts written out."""

from __future__ import annotations

import re
import string
import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

from core.model import Game
from core.verdict import Code, Reason

Fact = int | float | str | None


def say(section: str, key: str, fps: float = 60, **facts: Fact) -> str:
    """The sentence of this section and key with these facts.

    >>> say("pieces", "before-free", frames=1)
    '1 frame before you are free again'
    """
    given = {name: fact for name, fact in facts.items() if fact is not None}
    options = _wording()[section][key]
    writer = _Writer(fps)
    for sentence in [options] if isinstance(options, str) else options:
        if _fields(sentence) <= given.keys():
            return _one_unit(writer.format(sentence, **given), str(given.get("unit", "")))
    raise KeyError(f"no sentence of [{section}] {key} goes with the facts {sorted(given)}")


def say_reason(reason: Reason, game: Game, state: str | None = None) -> str:
    """The sentence of one reason; `state`: the hit state that the question spoke of."""
    facts: dict[str, Fact] = {"unit": game.distance_unit}
    facts |= {name: fact for name, fact in reason.facts.items() if fact != ""}
    if reason.code is Code.CONTACT_NOT_IN_RULE:
        allowed = str(facts["allowed"]).split(", ")
        facts["needs"] = " or ".join(say("pieces", f"a-{kind}") for kind in allowed)
        facts["contact_words"] = say("pieces", f"a-{facts['contact']}")
    if state is not None and facts.get("contact") == "hit":
        facts["contact"] = state
    if reason.code is Code.NUMBER_MISSING:
        facts["field"] = field_name(str(facts["field"]))
    if reason.code is Code.SOURCE_NOT_IN_RULE:
        part, _, value = str(facts["missed"]).partition(": ")
        facts["missed"] = say("missed", part, value=value.replace(", ", " or "))
    return say("reasons", reason.code.value, game.fps, **facts)


def field_name(field: str) -> str:
    """What a number of the game file is called.

    >>> field_name("on_block"), field_name("blockstun of hit 1")
    ('advantage on block', 'blockstun of hit 1')
    """
    called = _wording()["fields"].get(field, field)
    return str(called).replace("_", " ")


def counted(number: int, one: str) -> str:
    """A number and a noun that takes an s.

    >>> counted(1, "frame"), counted(2, "frame")
    ('1 frame', '2 frames')
    """
    return f"{number} {one}" if number == 1 else f"{number} {one}s"


def signed(number: int) -> str:
    """A number with its sign; 0 has none."""
    return f"{number:+d}" if number else "0"


def percent(share: float) -> str:
    """A share from 0 to 1 in whole percent; 0 and 100 only where it is exactly that.

    >>> percent(0.614), percent(0.999), percent(1)
    ('61 %', '99 %', '100 %')
    """
    return (
        f"{share:.0%}".replace("%", " %") if share in (0, 1) else f"{min(99, max(1, round(share * 100)))} %"
    )


class _Writer(string.Formatter):
    """Writes facts as the wording asks for: {window:frames}, {advantage:signed} ..."""

    def __init__(self, fps: float) -> None:
        self._fps = fps

    def format_field(self, value: object, format_spec: str) -> str:
        """One fact as its spec wants it."""
        if format_spec == "a":
            return f"{'an' if str(value)[:1].lower() in 'aeiou' else 'a'} {value}"
        if isinstance(value, str) or not isinstance(value, int | float):
            return str(value)
        match format_spec:
            case "frames" | "moves" | "attacks" | "hits" | "minutes" | "days" | "weeks" | "reps" | "routes":
                return counted(int(value), format_spec.removesuffix("s"))
            case "conversions" | "gaps" | "starters" | "drills" | "characters" | "numbers" | "rules" | "rows":
                return counted(int(value), format_spec.removesuffix("s"))
            case "tries" | "tallies" | "presses":
                one = {"tries": "try", "tallies": "tally", "presses": "press"}[format_spec]
                return f"{value:,} {one if value == 1 else format_spec}"
            case "nframes":
                tenths = f"{round(abs(value), 1):g}"
                return f"{tenths} frame{'' if tenths == '1' else 's'}"
            case "percent":
                return percent(value)
            case "are-frames":
                return f"{'is' if value == 1 else 'are'} {counted(int(value), 'frame')}"
            case "signed":
                return signed(int(value))
            case "nth":
                return _nth(int(value))
            case "ms":
                return f"{value * 1000 / self._fps:.0f} ms"
            case ",":
                return f"{value:,}"
            case "times":
                return {1: "once", 2: "twice"}.get(int(value), f"{int(value)} times")
            case _:
                return f"{value:g}" if isinstance(value, float) else str(value)


def _one_unit(sentence: str, unit: str) -> str:
    """The sentence with "1 steps" as "1 step"."""
    if not unit.endswith("s"):
        return sentence
    return re.sub(rf"(?<![\d.])1 {re.escape(unit)}\b", f"1 {unit[:-1]}", sentence)


def _nth(number: int) -> str:
    ending = {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{'th' if number % 100 in (11, 12, 13) else ending}"


@cache
def _fields(sentence: str) -> frozenset[str]:
    """The facts that a sentence of the table needs."""
    return frozenset(field for _, field, _, _ in string.Formatter().parse(sentence) if field)


@cache
def _wording() -> Mapping[str, Mapping[str, str | list[str]]]:
    """Every table of this folder as one; no two have a section of the same name."""
    found: dict[str, Mapping[str, str | list[str]]] = {}
    for file in sorted(files("bot.render").iterdir(), key=lambda file: file.name):
        if file.name.endswith(".toml"):
            sections = tomllib.loads(file.read_text(encoding="utf-8"))
            assert not found.keys() & sections.keys(), file.name
            found |= sections
    return found
