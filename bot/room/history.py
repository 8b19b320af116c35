"""Months of invented practice before the room opens: drawn from a table of players and a fixed seed."""

from __future__ import annotations

import random
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from functools import cache
from math import floor
from pathlib import Path
from typing import Any

from bot.results.place import Owner
from bot.results.tally import (
    Controller,
    Drops,
    KeptConversion,
    MemberSettings,
    SavedRoute,
    Setup,
    Side,
    Subject,
    SubjectKind,
    Tally,
)
from bot.services.subjects import Found, windows_of
from bot.storage import conversions, library, routes, settings, tallies
from bot.storage.store import Store
from core.learning.tally import Context
from core.model import Game, Means, MoveKind
from core.notation import parse_route
from core.timing import TYPICAL, Edges, Window, best_aim, edges
from core.timing.diagnosis import TYPICAL_SPACING_FRAMES
from core.timing.tally import Drop, ending

TABLE = Path(__file__).with_name("history.toml")
GAPS_READ = 5
"""Whoever reads gaps off the input history reads so many of a bout."""
NOTED = 0.08
FACES_LEFT = 0.3
BETWEEN_BOUTS_MINUTES = (6, 14)
DAY = timedelta(days=1)
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MOTIONS = (MoveKind.SPECIAL, MoveKind.ENHANCED, MoveKind.SUPER)


@dataclass(frozen=True, slots=True)
class Practice:
    """Something a player trains: moves in notation, or, where `drill` says where it is done, words; a drill
    `lands` so often, first day and last. `share`: of the bouts; `twice`: of its own bouts, pressed twice."""

    what: str
    share: int
    from_week: int = 0
    twice: float = 0.0
    drill: Context | None = None
    lands: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Player:
    """A member's hands and habits; the table says what each number means."""

    name: str
    game: str
    character: str
    controller: Controller
    bias_frames: float
    spread: tuple[float, float]
    under_load: float
    in_matches: float
    too_far: float
    fumbles: float
    since: date
    away: tuple[tuple[date, date], ...]
    days: tuple[str, ...]
    hour: int
    bouts: tuple[int, int]
    tries: tuple[int, ...]
    told: Mapping[str, int]
    contexts: Mapping[Context, int]
    out_from_week: int
    notes: tuple[str, ...]
    practice: tuple[Practice, ...]
    routes: tuple[Mapping[str, Any], ...]
    goal: float | None = None
    chose_character: bool = True


@dataclass(frozen=True, slots=True)
class History:
    """The whole table. `tries`: how many a bout may have by where it is made, training apart."""

    seed: int
    last_day: date
    tries: Mapping[Context, tuple[int, ...]]
    players: tuple[Player, ...]


@cache
def read_history() -> History:
    """The packaged table."""
    table = tomllib.loads(TABLE.read_text("utf-8"))
    tries = {Context(name): tuple(numbers) for name, numbers in table["tries"].items()}
    return History(table["seed"], table["last_day"], tries, tuple(map(_player, table["player"])))


async def write_history(store: Store, ids: Mapping[str, Owner], games: Mapping[str, Game]) -> None:
    """Store everybody's log, settings, routes, those shared too, and conversions. `ids`, `games` by name."""
    history = read_history()
    async with store.write() as writing:
        for player in history.players:
            owner, game = ids[player.name], games[player.game]
            made = log_of(player, history, game)
            await tallies.add_all(writing, owner, made, made[-1].made_at)
            own = player.character if player.chose_character else None
            chosen = MemberSettings(own, player.goal, made[-1].setup)
            await settings.set_member(writing, owner, chosen)
            for row in player.routes:
                saved = await routes.save(writing, owner, _saved(player, row, game))
                if "shared" in row:
                    await library.share(writing, owner, saved, _at(player, row["shared"]))
                for situation in row.get("kept_for", ()):
                    await conversions.set_one(writing, owner, _conversion(saved, situation, game))


def _saved(player: Player, row: Mapping[str, Any], game: Game) -> SavedRoute:
    name, notation, tags = row["name"], row["notation"], tuple(row.get("tags", ()))
    moment = _at(player, row["saved"])
    return SavedRoute(0, game.name, game.version, player.character, name, notation, moment, tags)


def _conversion(route: SavedRoute, situation: str, game: Game) -> KeptConversion:
    who = next(one for one in game.characters if one.name == route.character)
    starter = parse_route(route.notation, game, who).steps[0].move.input
    return KeptConversion(0, game.name, who.name, starter, situation, route)


def _at(player: Player, day: date) -> datetime:
    """When the player practises on this day."""
    return datetime.combine(day, time(player.hour), UTC)


def log_of(player: Player, history: History, game: Game) -> tuple[Tally, ...]:
    """All tallies of a player, in the order of time; the same ones for the same table."""
    chance = random.Random(f"{history.seed} {player.name}")  # of their own: others may change in the table
    tasks = {practice.what: _task(player, practice, game) for practice in player.practice}
    return tuple(
        _bout(player, history, tasks, game.version, made_at, chance)
        for day in _days(player, history.last_day)
        for made_at in _moments(player, day, chance)
    )


def _days(player: Player, last: date) -> Iterator[date]:
    day = player.since
    while day <= last:
        if WEEKDAYS[day.weekday()] in player.days and not any(
            begin <= day <= end for begin, end in player.away
        ):
            yield day
        day += DAY


def _moments(player: Player, day: date, chance: random.Random) -> Iterator[datetime]:
    moment = datetime.combine(day, time(player.hour, chance.randrange(30)), UTC)
    for _ in range(chance.randint(*player.bouts)):
        yield moment
        moment += timedelta(minutes=chance.randint(*BETWEEN_BOUTS_MINUTES))


@dataclass(frozen=True, slots=True)
class _Task:
    """What is tried: the windows of the presses that must be timed (a cancel may be pressed at once), and how
    many motions."""

    subject: Subject
    windows: tuple[Window, ...] = ()
    motions: int = 0


def _task(player: Player, practice: Practice, game: Game) -> _Task:
    if practice.drill is not None:
        return _Task(Subject(game.name, "", SubjectKind.DRILL, practice.what))
    who = next(one for one in game.characters if one.name == player.character)
    route = parse_route(practice.what, game, who)
    is_link = len(route.steps) == 2 and route.steps[1].joined is Means.LINK
    kind = SubjectKind.LINK if is_link else SubjectKind.ROUTE
    subject = Subject(game.name, who.name, kind, practice.what)
    presses = windows_of(Found(subject, game, who, route))
    windows = tuple(
        window for step, window in presses if step.means is Means.LINK and isinstance(window, Window)
    )
    return _Task(subject, windows, sum(move.kind in MOTIONS for move in route.moves))


def _bout(
    player: Player,
    history: History,
    tasks: Mapping[str, _Task],
    version: str,
    made_at: datetime,
    chance: random.Random,
) -> Tally:
    day = made_at.date()
    week = (day - player.since).days // 7
    known = [practice for practice in player.practice if practice.from_week <= week]
    (practice,) = chance.choices(known, [one.share for one in known])
    context = practice.drill or _context(player, week, chance)
    tries = chance.choice(history.tries.get(context, player.tries))
    learned = (day - player.since) / (history.last_day - player.since)
    task = tasks[practice.what]
    presses = 2 if chance.random() < practice.twice else 1
    if practice.drill is not None:
        ends = [_Try(chance.random() < _between(practice.lands, learned)) for _ in range(tries)]
    else:
        spacing = TYPICAL_SPACING_FRAMES if presses == 2 else 0.0
        made = _presses(player, task, _scale(player, learned, context), spacing)
        ends = [_attempt(player, context, made, task.motions, chance) for _ in range(tries)]
    drops, gaps = _noted(player, task, ends, chance)
    return Tally(
        subject=task.subject,
        made_at=made_at,
        tries=tries,
        landed=sum(end.landed for end in ends),
        drops=drops,
        context=context,
        presses=presses,
        setup=Setup(Side.LEFT if chance.random() < FACES_LEFT else Side.RIGHT, player.controller),
        gap_frames=gaps,
        note=chance.choice(player.notes) if chance.random() < NOTED else "",
        game_version=version,
    )


def _noted(
    player: Player, task: _Task, ends: Sequence[_Try], chance: random.Random
) -> tuple[Drops, tuple[int, ...]]:
    """What the player notes of a bout beside the count: reasons, and gaps of the first tries that had one.
    In a route nobody tells at which press it dropped."""

    def count(reason: str) -> int:
        return sum(end.reason == reason for end in ends)

    drops = Drops(too_far=count("too_far"), motion_failed=count("motion_failed"))
    (told,) = chance.choices(list(player.told), list(player.told.values()))
    if task.subject.kind is not SubjectKind.LINK or told == "count":
        return drops, ()
    gaps = [end.gap for end in ends if end.gap][:GAPS_READ] if told == "gaps" else []
    return replace(drops, early=count(Drop.EARLY), late=count(Drop.LATE)), tuple(gaps)


def _context(player: Player, week: int, chance: random.Random) -> Context:
    if week < player.out_from_week:
        return Context.TRAINING
    (context,) = chance.choices(list(player.contexts), list(player.contexts.values()))
    return context


def _between(ends: tuple[float, float], share: float) -> float:
    """From the first value to the last, by equal factors in equal times."""
    first, last = ends
    return first * float((last / first) ** share)


@dataclass(frozen=True, slots=True)
class _Try:
    """How one try ended: `reason` is a field of Drops. `gap`: of its first press, 0 where none was timed."""

    landed: bool
    reason: str = ""
    gap: int = 0


@dataclass(frozen=True, slots=True)
class _Press:
    """A press as these hands make it: where it comes and how it scatters, and where its result changes."""

    mean_gap: float
    spread_frames: float
    borders: Edges

    def draw(self, chance: random.Random) -> tuple[int, Drop]:
        """The gap as the game counts it, and what becomes of it. The press before came anywhere in its frame:
        hence the uniform phase."""
        gap = max(1, floor(chance.random() + chance.gauss(self.mean_gap, self.spread_frames)))
        return gap, ending(gap, self.borders)


def _presses(player: Player, task: _Task, scale: float, spacing_frames: float) -> tuple[_Press, ...]:
    """The presses of a task, each counted from the move before. `scale`: 1 is typical hands."""
    hands, found = TYPICAL.times(scale), []
    for window in task.windows:
        aim = best_aim(hands.frames(window.middle_gap), window, spacing_frames)
        press = _Press(aim + player.bias_frames, hands.frames(aim), edges(window, spacing_frames))
        found.append(press)
    return tuple(found)


def _scale(player: Player, learned: float, context: Context) -> float:
    scale = _between(player.spread, learned)
    if context.is_match:
        return scale * player.in_matches
    return scale if context is Context.TRAINING else scale * player.under_load


def _attempt(
    player: Player, context: Context, presses: Sequence[_Press], motions: int, chance: random.Random
) -> _Try:
    """One try; it ends with the first press that is not in time."""
    if context is not Context.TRAINING and chance.random() < player.too_far:
        return _Try(False, "too_far")
    gap = 0
    for press in presses:
        gap, end = press.draw(chance)
        if end is not Drop.HIT:
            return _Try(False, end.value, gap)
    if chance.random() < 1 - (1 - player.fumbles) ** motions:
        return _Try(False, "motion_failed")
    return _Try(True, gap=gap)


def _player(table: Mapping[str, Any]) -> Player:
    lists = {name: tuple(table[name]) for name in ("spread", "days", "bouts", "tries", "notes", "routes")}
    return Player(
        **{
            **table,
            **lists,
            "controller": Controller(table["controller"]),
            "away": tuple((begin, end) for begin, end in table["away"]),
            "contexts": {Context(name): share for name, share in table["contexts"].items()},
            "practice": tuple(map(_practice, table["practice"])),
        }
    )


def _practice(row: Mapping[str, Any]) -> Practice:
    drill = {"drill": Context(row["drill"]), "lands": tuple(row["lands"])} if "drill" in row else {}
    return Practice(**{**row, **drill})
