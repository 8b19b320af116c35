"""Routes as text, in the one form this project writes."""

from __future__ import annotations

import re

from core.model import Means
from core.notation.inputs import Press
from core.notation.route import Route, Step

_JOINED = {Means.LINK: ", ", Means.CANCEL: " xx ", Means.CHAIN: " ~ ", None: " > "}
_BEFORE_BUTTONS = re.compile(r"(?:j\.|j(?=[^+]))?(?:\[[0-9]\])?[0-9]*", re.IGNORECASE)


def format_route(route: Route) -> str:
    """The route's canonical text; `parse_route` reads the same route from it."""
    first, *rest = route.steps
    return format_step(first) + "".join(_JOINED[step.joined] + format_step(step) for step in rest)


def format_step(step: Step) -> str:
    """One step without what joins it: `counter hit meaty(3) 5HP`."""
    words = []
    if step.state is not None:
        words.append(step.state)
    if step.meaty:
        words.append(_counted("meaty", step.meaty_frame))
    if step.delayed:
        words.append(_counted("delay", step.delay_frames))
    words.append(format_input(step.move.input, step.press))
    return " ".join(words)


def format_input(written: str, press: Press = Press.TAP) -> str:
    """A move's input with its buttons held or released.

    >>> format_input("236HP", Press.HOLD), format_input("5HP", Press.RELEASE)
    ('236[HP]', '5]HP[')
    """
    before = _BEFORE_BUTTONS.match(written)
    place = before.end() if before else 0
    buttons = written[place:]
    if press is Press.TAP or not buttons or "[" in buttons or "]" in buttons:
        return written
    return f"{written[:place]}[{buttons}]" if press is Press.HOLD else f"{written[:place]}]{buttons}["


def _counted(word: str, number: int | None) -> str:
    return word if number is None else f"{word}({number})"
