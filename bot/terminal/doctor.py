"""`cornerman doctor`: what keeps the bot from running well on this machine, a line for each thing."""

from __future__ import annotations

import argparse
import json
import textwrap
from collections.abc import Sequence
from typing import Any

from bot.doctor import Finding, State, examine
from bot.terminal.common import ANSWERED, CANNOT_RUN, NO_ANSWER, epilog

WIDE = 100
CODES = {State.OK: ANSWERED, State.LOOK: NO_ANSWER, State.WRONG: CANNOT_RUN}
KEYS = {
    "state": "the worst of all: ok, look at it, wrong",
    "findings": "a list, each with check (what was looked at), state (as above) and said (one sentence)",
}


def add_doctor(commands: Any, shared: argparse.ArgumentParser) -> None:
    """The parser of `cornerman doctor`."""
    doctor = commands.add_parser(
        "doctor",
        parents=[shared],
        help="say what keeps the bot from running well here, and what to do about it",
        description="Look at the settings, the token's form, the games, the database, the disk, the clock "
        "and the fonts. Nothing is changed, nothing but the database is connected to, and neither the token "
        "nor a password is ever shown. Run it as the user that the bot runs as; the bot may be running.",
        epilog=epilog(KEYS, "0 all is well; 1 something to look at; 3 something is wrong; 2 bad usage"),
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    doctor.set_defaults(command="doctor")
    doctor.add_argument("--json", action="store_true", help="print JSON instead of text")


def print_findings(given: argparse.Namespace) -> int:
    """Print what is found, and give the exit code."""
    found = examine(given.config)
    worst = max((finding.state for finding in found), key=list(State).index)
    if given.json:
        print(json.dumps(_values(found, worst), ensure_ascii=False, indent=2))
    else:
        print(_text(found))
    return CODES[worst]


def _values(found: Sequence[Finding], worst: State) -> dict[str, object]:
    findings = [
        {"check": finding.check, "state": finding.state.value, "said": finding.said} for finding in found
    ]
    return {"state": worst.value, "findings": findings}


def _text(found: Sequence[Finding]) -> str:
    wide = max(len(finding.check) for finding in found)
    first = max(map(len, State))
    return "\n".join([_lead(found), "", *(_line(finding, first, wide) for finding in found)])


def _lead(found: Sequence[Finding]) -> str:
    wrong, look = (sum(one.state is state for one in found) for state in (State.WRONG, State.LOOK))
    if wrong:
        return f"{_things(wrong)} wrong here; the bot cannot run well before it is set right."
    if look:
        return f"The bot can run here, but {_things(look).lower()} worth a look."
    return "All is well here."


def _things(count: int) -> str:
    return "One thing is" if count == 1 else f"{count} things are"


def _line(finding: Finding, first: int, wide: int) -> str:
    begin = f"{finding.state:<{first}}  {finding.check:<{wide}}  "
    return textwrap.fill(
        finding.said,
        WIDE,
        initial_indent=begin,
        subsequent_indent=" " * len(begin),
        break_long_words=False,
        break_on_hyphens=False,
    )
