"""What is practised: from what a member typed, and again from how it is stored."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from bot.results.log import LogRefusal, LogRefusalCode
from bot.results.place import Place
from bot.results.practice import RouteStep
from bot.results.tally import WHAT_CHARACTERS, SavedRoute, Subject, SubjectKind
from bot.services.desk import AskDesk
from bot.services.moves import nearest
from core.model import Character, Game, Means
from core.notation import ROUTE_LIMIT, NotationError, Route, book_of, format_route
from core.notation.tokens import fold, name_key
from core.routes import Start, StepCheck, full_gauges, presses
from core.text import clipped, one_line, printable
from core.timing import Window
from core.verdict import Facts, Verdict

DRILL_MARK = "drill:"
"""What stands before a drill's words when it is named for the first time."""

_APOSTROPHES = str.maketrans("ʼ´`", "'''")
_OWNED = re.compile(r"(?P<name>[^:,;>~]{1,60}?)(?:'s? | ?: ?)(?=\S)")


@dataclass(frozen=True, slots=True)
class Found:
    """A subject with what the present game file has of it; a drill has no character and no route."""

    subject: Subject
    game: Game
    character: Character | None
    route: Route | None


def read_subject(
    desk: AskDesk,
    place: Place,
    typed: str,
    saved: Sequence[SavedRoute] = (),
    drills: Sequence[str] = (),
    controls: str | None = None,
) -> Found | LogRefusal:
    """What the text means: a saved route by its name, a drill of `drills` or one that is named with
    `DRILL_MARK`, else moves in a row.

    Whose moves they are may stand before them ("Odrun's 5MP, 2MP", "Odrun: 5MP, 2MP"); else they are the
    member's own character's, and where none is chosen those of the only one who has such moves. `controls`:
    the control scheme they are of, where it is not the member's own.
    """
    text = " ".join(typed.split())
    game, own = desk.game_of(place), desk.character_of(place)
    scheme = controls or desk.controls_of(place)
    if len(text) <= ROUTE_LIMIT:
        if routes := saved_as(saved, text, game, own):
            return _of_saved(game, routes, text, scheme)
        if (words := _drill_words(text, drills)) is not None:
            return _drill(game, words)
    return read_moves(game, own, text, scheme)


def read_moves(game: Game, own: Character | None, typed: str, scheme: str | None) -> Found | LogRefusal:
    """What the text means as moves in a row; whose they are is settled as in `read_subject`."""
    text = " ".join(typed.split())
    if len(text) > ROUTE_LIMIT:
        return _too_long(ROUTE_LIMIT)
    name, rest = _named_before(text)
    owner = _character(game, name)
    if owner is not None:
        return _of_people(game, (owner,), rest, scheme)
    found = _of_people(game, (own,) if own else game.characters, text, scheme)
    if isinstance(found, LogRefusal) and _is_for_name(game, name, rest, scheme):
        called = {one: who.name for who in game.characters for one in (who.name, *who.aliases)}
        near = dict.fromkeys(called[one] for one in nearest(name, list(called)))
        facts = Facts(typed=clipped(name), near=", ".join(near))
        return LogRefusal(LogRefusalCode.UNKNOWN_CHARACTER, facts)
    return found


def owner_before(game: Game, text: str) -> tuple[Character | None, str]:
    """Whose name stands before what comes after it ("Odrun: 5MP"), or stands alone; None and the whole text
    where nobody's does."""
    if (alone := _character(game, text)) is not None:
        return alone, ""
    name, rest = _named_before(text)
    owner = _character(game, name)
    return (None, text) if owner is None else (owner, rest)


def as_subject(game: Game, who: Character, route: Route) -> Found | LogRefusal:
    """The route as a subject. What is written to follow by whatever works is kept as it does work."""
    first, *rest = route.steps
    joints = [
        step.joined or press.means for step, press in zip(rest, _presses(game, who, route)[1:], strict=True)
    ]
    kind = SubjectKind.ROUTE
    if len(rest) == 1:
        anyhow = Route((first, replace(rest[0], joined=None)))
        if Means.LINK in (rest[0].joined, _presses(game, who, anyhow)[1].means):
            kind, joints = SubjectKind.LINK, [Means.LINK]
    steps = (replace(step, joined=means) for step, means in zip(rest, joints, strict=True))
    route = Route((first, *steps))
    what = format_route(route)
    if len(what) > WHAT_CHARACTERS:
        return _too_long(WHAT_CHARACTERS)
    return Found(Subject(game.name, who.name, kind, what), game, who, route)


def saved_as(
    saved: Sequence[SavedRoute], typed: str, game: Game, own: Character | None
) -> tuple[SavedRoute, ...]:
    """The routes saved under this name, in any case. Whose it is may stand before it; else it is that of the
    member's own character where several have it."""
    called = [route for route in saved if same_name(route.name, typed)]
    if not called:
        name, rest = _named_before(typed)
        own = _character(game, name)
        return tuple(
            route for route in saved if own and route.character == own.name and same_name(route.name, rest)
        )
    mine = [route for route in called if own is not None and route.character == own.name]
    return tuple(mine or called)


def same_name(name: str, other: str) -> bool:
    """Whether two names of routes are one."""
    return name_of_route(name).casefold() == name_of_route(other).casefold()


def name_of_route(typed: str) -> str:
    """A name as it is kept: on one line, words apart by one blank."""
    return one_line(typed)


def typed_as(subject: Subject) -> str:
    """What a member would type for it, whatever character is their own."""
    return f"{subject.character}: {subject.what}" if subject.character else f"{DRILL_MARK} {subject.what}"


def found_of(
    desk: AskDesk, server_id: int | None, subject: Subject, controls: str | None = None
) -> Found | None:
    """A stored subject again, as `found_in` has it of the version that a server uses; None where there is no
    such game."""
    game = desk.game_named(server_id, subject.game)
    return None if game is None else found_in(game, subject, controls)


def found_in(game: Game, subject: Subject, controls: str | None = None) -> Found | None:
    """A stored subject in some version of its game; None where that lacks its moves, and for choosing, which
    is no practice of the hands. `controls`: the control scheme that its moves are looked for under first."""
    if subject.kind is SubjectKind.CHOICE:
        return None
    if subject.kind is SubjectKind.DRILL:
        return Found(subject, game, None, None)
    character = game.character(subject.character)
    route = _under_any(game, character, subject.what, controls) if character else None
    return Found(subject, game, character, route) if isinstance(route, Route) else None


def windows_of(found: Found) -> tuple[tuple[RouteStep, Window | Verdict], ...]:
    """For each press after the first how it comes out, and the gaps that are accepted, or why there are none.
    Empty for a drill."""
    if found.route is None or found.character is None:
        return ()
    game, who = found.game, found.character
    told: list[tuple[RouteStep, Window | Verdict]] = []
    for before, press in pairwise(_presses(game, who, found.route)):
        accepted = press.verdict if press.window is None else press.window
        window = accepted if isinstance(accepted, Window) else None
        means = press.step.joined or press.means
        told.append((RouteStep(before.step.move.input, press.step.move.input, means, window), accepted))
    return tuple(told)


def _presses(game: Game, who: Character, route: Route) -> tuple[StepCheck, ...]:
    """The steps of a route, each with what those before it leave. How full gauges are is not asked here."""
    return presses(game, who, route, Start(gauges=full_gauges(game)))


def _named_before(text: str) -> tuple[str, str]:
    """What may be a character's name before moves, and the rest; empty where nothing may."""
    folded = fold(text)
    found = _OWNED.match(folded.chars.translate(_APOSTROPHES))
    if found is None:
        return "", text
    return folded.part(*found.span("name")).typed(), folded.part(found.end(), len(folded.chars)).typed()


def _character(game: Game, name: str) -> Character | None:
    key = name_key(fold(name).chars) if name else ""
    for who in game.characters:
        if key and key in {name_key(fold(called).chars) for called in (who.name, *who.aliases)}:
            return who
    return None


def _route(game: Game, who: Character, text: str, scheme: str | None) -> Route | NotationError:
    try:
        return book_of(game, who, scheme).route(text)
    except NotationError as error:
        return error


def _under_any(game: Game, who: Character, text: str, scheme: str | None) -> Route | NotationError:
    """The route under this control scheme, else under none or another: a stored one may be of any. The error
    is that under this scheme."""
    read = _route(game, who, text, scheme)
    if isinstance(read, Route) or read.candidates:
        return read
    others = (_route(game, who, text, other) for other in (None, *(one.name for one in game.schemes)))
    return next((route for route in others if isinstance(route, Route)), read)


def _of_people(game: Game, people: Sequence[Character], text: str, scheme: str | None) -> Found | LogRefusal:
    """The moves, of the only one of these people whose they can be."""
    read = [(who, _under_any(game, who, text, scheme)) for who in people]
    possible = [(who, it) for who, it in read if isinstance(it, Route) or it.candidates]
    if possible and all(isinstance(it, Route) and len(it.steps) == 1 for _, it in possible):
        return _no_such(
            text,
            f'a single move has no press to time; name two moves or more, or log it as "{DRILL_MARK} ...".',
        )
    if len(possible) > 1:
        names = ", ".join(who.name for who, _ in possible)
        return LogRefusal(LogRefusalCode.WHOSE, Facts(typed=clipped(text), names=names))
    errors = [it for _, it in possible or read if isinstance(it, NotationError)]
    if errors or not possible:
        furthest = max(errors, key=lambda error: error.start, default=None)
        return _no_such(text, str(furthest) if furthest else f"{game.name} has no characters.")
    (who, route), *_ = possible
    assert isinstance(route, Route)
    return as_subject(game, who, route)


def _is_for_name(game: Game, name: str, rest: str, scheme: str | None) -> bool:
    """Whether this must be somebody's name: it is no move itself, and moves come after it."""

    def anybody_has(text: str) -> bool:
        return any(isinstance(_route(game, who, text, scheme), Route) for who in game.characters)

    return bool(name) and anybody_has(rest) and not anybody_has(name)


def _of_saved(
    game: Game, routes: tuple[SavedRoute, ...], text: str, scheme: str | None
) -> Found | LogRefusal:
    saved, *others = routes
    if others:
        names = ", ".join(route.character for route in routes)
        return LogRefusal(LogRefusalCode.WHOSE, Facts(typed=clipped(text), names=names))
    who = _character(game, saved.character)
    if who is None:
        return _no_such(text, f"{game.name} has no {saved.character} any more.")
    route = _under_any(game, who, saved.notation, scheme)
    return as_subject(game, who, route) if isinstance(route, Route) else _no_such(text, str(route))


def _drill_words(text: str, drills: Iterable[str]) -> str | None:
    """A drill's words: as they were written before, else as they are now; None where it is no drill."""
    marked = text.casefold().startswith(DRILL_MARK)
    words = printable(text[len(DRILL_MARK) :].strip() if marked else text)
    known = next((drill for drill in drills if drill.casefold() == words.casefold()), None)
    return known or (words if marked else None)


def _drill(game: Game, words: str) -> Found | LogRefusal:
    if not words:
        return _no_such(DRILL_MARK, f'Words are missing, as in "{DRILL_MARK} block, then punish".')
    if len(words) > WHAT_CHARACTERS:
        return _too_long(WHAT_CHARACTERS)
    return Found(Subject(game.name, "", SubjectKind.DRILL, words), game, None, None)


def _too_long(most: int) -> LogRefusal:
    return LogRefusal(LogRefusalCode.TOO_LONG, Facts(field="what", most=most))


def _no_such(typed: str, problem: str) -> LogRefusal:
    return LogRefusal(LogRefusalCode.NO_SUCH_WHAT, Facts(typed=clipped(typed), problem=problem))
