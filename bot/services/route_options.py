"""What a member types about how a route begins, and about which routes are looked for."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from bot.results.finding import Limit, Wanted
from bot.results.log import LogRefusal, LogRefusalCode
from bot.results.route import KnownHands
from bot.services.subjects import owner_before
from bot.services.touch import read_touch
from core.model import Character, Game
from core.notation import NotationError, Step, book_of, format_step
from core.routes import Query, Start, full_gauges, hands
from core.text import clipped
from core.verdict import Facts

BUDGET = 30_000
"""Labels of one search: about three seconds of a worker, that gives up after ten."""
MOST_ROUTES = 8
GAUGE_CHARACTERS = 100
"""Nobody writes more of one gauge; a longer text would take long to read."""
NONE, FULL = "none", "full"
ONE_MOVE = "a route starts with one move; name that one alone."

_AND = re.compile(r"\s*[,;+&]\s*|\s+and\s+")
_MOVES = re.compile(r"\s*[,;]\s*")
_GAUGE = re.compile(r"(?P<name>\D+?)\W*(?P<amount>[0-9]{1,5})|(?P<first>[0-9]{1,5})\W*(?P<last>\D+)")


@dataclass(frozen=True, slots=True)
class Asked:
    """A search, ready to be made. `starter`: its step as it is written, empty for any."""

    character: Character
    starter: str
    query: Query
    limits: tuple[Limit, ...]


def read_start(
    game: Game, gauge: str = "", airborne: bool = False, distance: float | None = None
) -> Start | LogRefusal | None:
    """How a route begins: gauges not named are full. None where nothing is said of it."""
    if not (gauge.strip() or airborne or distance is not None):
        return None
    given = read_gauges(game, gauge)
    if isinstance(given, LogRefusal):
        return given
    gauges = dict(full_gauges(game)) | given
    return Start(gauges=tuple(gauges.items()), airborne=airborne, distance=distance)


def read_gauges(game: Game, typed: str) -> dict[str, int] | LogRefusal:
    """Amounts of gauges: "salt 50", several apart by commas, "none" of any, "full"; those not named are left
    out."""
    text = " ".join(typed.split())
    if text.casefold() in ("", FULL):
        return {}
    if text.casefold() == NONE:
        return {gauge.name: 0 for gauge in game.gauges}
    found: dict[str, int] = {}
    for part in _AND.split(text):
        read = _GAUGE.fullmatch(part[:GAUGE_CHARACTERS])
        name = (read["name"] or read["last"]).strip().casefold() if read else ""
        gauge = next((one for one in game.gauges if one.name.casefold() == name), None)
        if read is None or gauge is None:
            known = ", ".join(one.name for one in game.gauges)
            example = f"{game.gauges[0].name} {game.gauges[0].maximum // 2}" if game.gauges else NONE
            facts = Facts(typed=clipped(text), known=known, example=example)
            return LogRefusal(LogRefusalCode.NO_GAUGE, facts)
        amount = int(read["amount"] or read["first"])
        if amount > gauge.maximum:
            facts = Facts(gauge=gauge.name, amount=amount, most=gauge.maximum)
            return LogRefusal(LogRefusalCode.GAUGE_RANGE, facts)
        found[gauge.name] = amount
    return found


def read_state(game: Game, typed: str) -> str | LogRefusal | None:
    """A hit state by its name or alias; None where nothing is typed, or a plain hit."""
    touch = read_touch(game, typed)
    if touch is None or (touch.contact is not None and touch.contact.value != "hit"):
        known = ", ".join(state.name for state in game.hit_states)
        return LogRefusal(LogRefusalCode.NO_STATE, Facts(typed=clipped(typed), known=known))
    return touch.state


def read_starter(
    game: Game, own: Character | None, typed: str, scheme: str | None
) -> tuple[Character, Step | None] | LogRefusal:
    """The first move of routes, and whose it is: as said before it ("Odrun: 5MP"), else the member's own.
    None for any move, where nothing is typed or a character alone."""
    text = " ".join(typed.split())
    owner, rest = owner_before(game, text)
    who = owner or own
    if who is None:
        first = game.characters[0]
        example = f"{first.name}: {first.moves[0].input}"
        return LogRefusal(LogRefusalCode.NO_CHARACTER, Facts(example=example))
    if not rest:
        return who, None
    try:
        route = book_of(game, who, scheme).route(rest)
    except NotationError as error:
        return _no_move(rest, str(error))
    if len(route.steps) > 1:
        return _no_move(rest, ONE_MOVE)
    return who, route.steps[0]


def read_wanted(
    game: Game, own: Character | None, wanted: Wanted, scheme: str | None, known: KnownHands
) -> Asked | LogRefusal:
    """The search for what is wanted by hands like these, or the first thing that cannot be read."""
    begun = read_starter(game, own, wanted.starter, scheme)
    if isinstance(begun, LogRefusal):
        return begun
    who, step = begun
    state, spend = read_state(game, wanted.state), read_gauges(game, wanted.gauge)
    require = _inputs(game, who, wanted.with_moves, scheme)
    avoid = _inputs(game, who, wanted.without, scheme)
    for read in (state, spend, require, avoid):
        if isinstance(read, LogRefusal):
            return read
    assert not isinstance(state, LogRefusal)
    assert not isinstance(spend, LogRefusal)
    assert not isinstance(require, LogRefusal)
    assert not isinstance(avoid, LogRefusal)
    if step is not None and state is not None:
        step = replace(step, state=state)
    start = Start(
        state=step.state if step else state,
        active_frame=_active_frame(step),
        distance=wanted.distance,
        gauges=full_gauges(game),
        airborne=wanted.airborne,
    )
    query = Query(
        aim=wanted.aim,
        start=start,
        hands=hands(known.spread, known.bias_frames),
        most_moves=wanted.moves,
        first=(step.move.input,) if step else (),
        require=require,
        avoid=avoid,
        spend=tuple(spend.items()),
        least_damage=wanted.at_least,
        least_moves=2,
        knockdown=wanted.knockdown,
        scheme=scheme,
        budget=BUDGET,
        most_routes=MOST_ROUTES,
    )
    return Asked(who, format_step(step) if step else "", query, _limits(query))


def _active_frame(step: Step | None) -> int:
    if step is None or not step.meaty:
        return 1
    return step.meaty_frame or step.move.active_frames or 1


def _inputs(game: Game, who: Character, typed: str, scheme: str | None) -> tuple[str, ...] | LogRefusal:
    """Moves apart by commas, as their inputs."""
    book = book_of(game, who, scheme)
    found: dict[str, None] = {}
    for part in filter(None, _MOVES.split(typed.strip())):
        try:
            found[book.find(part).input] = None
        except NotationError as error:
            return _no_move(part, str(error))
    return tuple(found)


def _limits(query: Query) -> tuple[Limit, ...]:
    """What was asked for that may leave nothing over."""
    asked: tuple[tuple[Limit, object], ...] = (
        (Limit.DAMAGE, query.least_damage),
        (Limit.GAUGE, query.spend),
        (Limit.KNOCKDOWN, query.knockdown),
        (Limit.WITH, query.require),
        (Limit.WITHOUT, query.avoid),
        (Limit.DISTANCE, query.start.distance),
        (Limit.MOVES, query.most_moves < Wanted().moves),
    )
    return tuple(limit for limit, given in asked if given)


def _no_move(typed: str, problem: str) -> LogRefusal:
    return LogRefusal(LogRefusalCode.NO_MOVE, Facts(typed=clipped(typed), problem=problem))
