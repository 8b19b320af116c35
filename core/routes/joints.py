"""The ways in which one move follows another at its place in a route, asked of links and cancels once."""

from __future__ import annotations

from dataclasses import dataclass, replace

from core.cancels import CancelWindow, cancel, combos, windows
from core.conditions import juggle_count, juggle_limit
from core.followups import follow_up
from core.frames import contact_clock, free_clock, outcome
from core.links import link, link_race, window
from core.model import CancelRule, Character, Contact, Effect, Game, Means, Move, Stance
from core.permission import fits
from core.routes.movement import Dash, after_dash, moves_between
from core.timing import Window, cancel_window, link_window
from core.verdict import Answer, Code, Facts, Missing, Reason, Verdict

BY_RULE = (Means.CANCEL, Means.CHAIN)
NOT_AFTER_DASH = (Code.EARLY_PRESS_CANCELS, Code.IN_REACH_UP_TO)
"""What is said of two moves and does not hold with a movement between them."""


@dataclass(frozen=True, slots=True)
class Joint:
    """One way in which a move follows another and combos.

    `last_hit`: the last hit of the first move that lands before. `rule`: the cancel rule it comes by.
    (The verdict on it is asked of `Judge.verdict`.)
    `window`: the accepted presses, or why they cannot be told. `start_frames`: real frames from the
    first move's start to the second's at the soonest, super freeze counted. `spare_frames`: how much
    later it may start; both None where not known.
    """

    means: Means
    last_hit: int
    rule: str | None
    window: Window | Verdict
    start_frames: int | None
    spare_frames: int | None


class Judge:
    """Answers of one game about one character, each worked out once."""

    def __init__(self, game: Game, character: Character) -> None:
        self.game, self.character = game, character
        rules = (*character.rules, *game.rules)
        self._views = {means: _only(game, character, means) for means in BY_RULE}
        self._limits = {rule.name: rule.per_route for rule in rules if rule.per_route is not None}
        self._not_after = frozenset(means for rule in rules for means in rule.not_after)
        self._percents = game.scaling.steps_percent if game.scaling else ()
        self.hits_that_matter = max(0, len(game.hitstun_decay_frames) - 1, len(self._percents) - 1)
        self._joints: dict[tuple[object, ...], tuple[Joint, ...]] = {}
        self._moving: dict[tuple[int, int, Contact], tuple[tuple[Joint, CancelWindow], ...]] = {}
        self._damages: dict[tuple[int, Contact, int], int | None] = {}
        self._costs: dict[int, tuple[int, ...]] = {}
        self._decaying: dict[tuple[int, bool, str | None], bool] = {}
        self._kept: dict[int, Move] = {}
        self._sources: dict[int, dict[Means, frozenset[str]]] = {}
        self._targets: dict[int, dict[Means, frozenset[str]]] = {}
        self._begun: dict[tuple[int, Means | None, bool], Move] = {}

    def matter(self, contact: Contact) -> Contact:
        """The contact with what went before only so far as the game's rules can tell it apart."""
        used = sorted(name for name in contact.rules_used if name in self._limits)
        return replace(
            contact,
            hits_before=min(contact.hits_before, self.hits_that_matter),
            came_by=contact.came_by if contact.came_by in self._not_after else None,
            rules_used=tuple(
                name for n, name in enumerate(used) if n - used.index(name) < self._limits[name]
            ),
        )

    def joints(
        self, first: Move, second: Move, contact: Contact, dash: Dash | None = None
    ) -> tuple[Joint, ...]:
        """Every way that combos: by cancel, chain and link; after a movement by link."""
        timed = self.for_timing(first, contact)
        if timed.juggle_count and self._hits_at(timed.juggle_count, first, second):
            timed = replace(timed, juggle_count=0)
        key = (self._id(first), self._id(second), timed, dash.key if dash else None)
        known = self._joints.get(key)
        if known is None:
            if dash is None:
                found = [self._by_rule(means, first, second, timed) for means in BY_RULE]
                found.append(self._by_link(first, second, timed))
            elif dash.out_of is None:
                found = [self._after_free_dash(first, second, timed, dash)]
            else:
                found = [self._after_cancelled_dash(first, second, timed, dash, dash.out_of)]
            known = self._joints[key] = tuple(joint for joint in found if joint is not None)
        return known

    def into_movement(
        self, first: Move, movement: Move, contact: Contact
    ) -> tuple[tuple[Joint, CancelWindow], ...]:
        """Every way in which a rule lets the movement begin out of the move, the latest hit first.

        Whether anything combos after it is a question of what follows.
        """
        timed = self.for_timing(first, contact)
        key = (self._id(first), self._id(movement), timed)
        known = self._moving.get(key)
        if known is None:
            known = self._moving[key] = tuple(
                (self.begun_in(first, timed, slot), slot)
                for means in BY_RULE
                if self._rules_of(first, self._sources)[means]
                & self._rules_of(movement, self._targets)[means]
                for slot in reversed(windows(*self._views[means], first, movement, timed))
                if not slot.rule.jump
            )
        return known

    def verdict(
        self, first: Move, second: Move, contact: Contact, joint: Joint, dash: Dash | None
    ) -> Verdict:
        """The verdict on a joint, with its reasons."""
        if dash is not None:
            verdict = self._verdict_after(first, second, contact, dash)
            reasons = tuple(one for one in verdict.reasons if one.code not in NOT_AFTER_DASH)
            return Verdict(verdict.answer, reasons, verdict.evidence)
        if joint.means is Means.LINK:
            return link(self.game, self.character, first, second, contact)
        answer = cancel(*self._views[joint.means], first, second, contact)
        reasons = tuple(dict.fromkeys((*answer.legal.reasons, *answer.combos.reasons)))
        return Verdict(Answer.YES, reasons, answer.legal.evidence.plus(**answer.combos.evidence))

    def refusal(
        self, first: Move, second: Move, contact: Contact, means: Means | None, dash: Dash | None
    ) -> Verdict:
        """Why a move does not follow by these means, or by none, where `joints` has nothing."""
        if dash is not None and means in BY_RULE:
            return cancel(self.game, self.character, dash.move, second, contact).legal
        if dash is not None:
            verdict = self._verdict_after(first, second, contact, dash)
            if dash.out_of is None:
                return verdict
            return Verdict(verdict.answer, (*verdict.reasons, moves_between(dash.move)), verdict.evidence)
        if means is Means.LINK:
            return link(self.game, self.character, first, second, contact)
        if means is None:
            return follow_up(self.game, self.character, first, second, contact).verdict
        answer = cancel(*self._views[means], first, second, contact)
        return answer.combos if answer.legal.answer is Answer.YES else answer.legal

    def begun(self, first: Move, move: Move, means: Means | None) -> Move:
        """The move as it comes out of the first by these means: cancelled into, it may have a startup of its
        own, and out of a jump it is counted from where that began."""
        jump = self.character.jump
        leaves = first.stance is not Stance.AIRBORNE and move.stance is Stance.AIRBORNE
        jumped = means in BY_RULE and leaves and jump is not None
        if not jumped and (
            means is not Means.CANCEL or move.cancelled_startup_frames in (None, move.startup_frames)
        ):
            return move
        key = (self._id(move), means, jumped)
        if key not in self._begun:
            own = move.cancelled_startup_frames if means is Means.CANCEL else None
            frames = move.startup_frames if own is None else own
            if frames is not None and jumped and jump is not None:
                frames += jump.before_frames
            self._begun[key] = replace(move, startup_frames=frames)
        return self._begun[key]

    def landed(self, contact: Contact, last_hit: int) -> int:
        """How many hits of a move land up to this one."""
        return max(0, last_hit - contact.first_hit + 1)

    def damage(self, move: Move, contact: Contact, last_hit: int) -> int | None:
        """Damage of the move's hits up to `last_hit`, each scaled by its number in the route and rounded
        down; None where one is not known."""
        key = (self._id(move), contact, last_hit)
        if key not in self._damages:
            parts = [
                None
                if hit.damage is None
                else hit.damage * self._percent(move, contact.hits_before + n) // 100
                for n, hit in enumerate(move.hits[contact.first_hit - 1 : last_hit])
            ]
            known = [part for part in parts if part is not None]
            self._damages[key] = sum(known) if len(known) == len(parts) else None
        return self._damages[key]

    def costs(self, move: Move) -> tuple[int, ...]:
        """What the move costs of each gauge, in the game's order."""
        key = self._id(move)
        if key not in self._costs:
            costs = dict(move.costs)
            self._costs[key] = tuple(costs.get(gauge.name, 0) for gauge in self.game.gauges)
        return self._costs[key]

    def _percent(self, move: Move, number: int) -> int:
        """Percent of its damage that the route's hit of this number (the first: 0) does."""
        scaling = self.game.scaling
        if scaling is None or not scaling.steps_percent:
            return 100
        step = scaling.steps_percent[min(number, len(scaling.steps_percent) - 1)]
        return max(step, scaling.floor_percent, dict(scaling.floors_percent).get(move.kind, 0))

    def for_timing(self, first: Move, contact: Contact) -> Contact:
        """The contact with the hits before it only so far as hitstun decay can tell them apart."""
        if not contact.hits_before:
            return contact
        decay = self.game.hitstun_decay_frames
        number = min(contact.hits_before, len(decay) - 1) if decay else 0
        if number and len(first.hits) == 1:
            number = decay.index(decay[number]) if self._decays(first, contact) else 0
        return contact if number == contact.hits_before else replace(contact, hits_before=number)

    def _decays(self, first: Move, contact: Contact) -> bool:
        """Whether decay changes what a move of one hit does: it takes nothing off a launch or a knockdown."""
        key = (self._id(first), contact.juggle_count is not None, contact.state)
        if key not in self._decaying:
            result = outcome(self.game, first, contact)
            self._decaying[key] = isinstance(result, Missing) or result.effect is Effect.STAND
        return self._decaying[key]

    def _hits_at(self, count: int, first: Move, second: Move) -> bool:
        """Whether the second move hits in the air after the first has hit at this juggle count."""
        rules = self.game.juggle
        at = Contact(juggle_count=count)
        return rules is not None and juggle_count(first, at) <= juggle_limit(rules, second)

    def _by_rule(self, means: Means, first: Move, second: Move, contact: Contact) -> Joint | None:
        if not self._rules_of(first, self._sources)[means] & self._rules_of(second, self._targets)[means]:
            return None
        view = self._views[means]
        answer = cancel(*view, first, second, contact)
        slot = answer.window
        if slot is None or answer.combos.answer is not Answer.YES:
            return None
        combos = answer.combos.evidence
        race = int(combos["stun_frames"]) - int(combos["startup_frames"])
        last = race if slot.last_delay_frames is None else min(race, slot.last_delay_frames)
        touches = contact_clock(first, contact, slot.hit)
        stop = first.hits[slot.hit - 1].attacker_hitstop_frames
        start = None
        if not isinstance(touches, Missing) and stop is not None:
            start = touches + stop + slot.first_delay_frames + _freeze(first)
        presses = cancel_window(*view, first, second, contact)
        return Joint(means, slot.hit, slot.rule.name, presses, start, last - slot.first_delay_frames)

    def _by_link(self, first: Move, second: Move, contact: Contact) -> Joint | None:
        spare = self._spare_of_link(first, second, contact)
        if spare is None:
            return None
        presses = link_window(self.game, self.character, first, second, contact)
        start = busy_frames(first, contact)
        return Joint(Means.LINK, len(first.hits), None, presses, start, spare)

    def _after_free_dash(self, first: Move, second: Move, contact: Contact, dash: Dash) -> Joint | None:
        spare = self._spare_of_link(first, after_dash(second, dash.frames), contact)
        if spare is None:
            return None
        busy = busy_frames(first, contact)
        start = None if busy is None else busy + dash.frames
        return Joint(Means.LINK, len(first.hits), None, self._after_dash(dash.frames, spare), start, spare)

    def _after_cancelled_dash(
        self, first: Move, second: Move, contact: Contact, dash: Dash, slot: CancelWindow
    ) -> Joint | None:
        """It combos if startup + d + the movement's frames <= the stun of the hit it was begun out of."""
        verdict = self._verdict_after(first, second, contact, dash)
        if verdict.answer is not Answer.YES:
            return None
        race = int(verdict.evidence["stun_frames"]) - int(verdict.evidence["startup_frames"])
        spare = race - slot.first_delay_frames
        begun = self.begun_in(first, contact, slot).start_frames
        start = None if begun is None else begun + dash.frames
        presses = self._after_dash(dash.frames, spare)
        return Joint(Means.LINK, slot.hit, slot.rule.name, presses, start, spare)

    def _verdict_after(self, first: Move, second: Move, contact: Contact, dash: Dash) -> Verdict:
        """Whether a move that links after a movement combos, wherever it reaches from."""
        then = after_dash(second, dash.frames)
        if dash.out_of is None:
            return link(self.game, self.character, first, then, contact)
        if dash.move.stance is Stance.AIRBORNE:
            facts = Facts(first=dash.move.input, second=second.input)
            return Verdict(Answer.UNKNOWN, (Reason(Code.AIR_TO_AIR_LINK, facts),))
        if second.stance is Stance.AIRBORNE:
            if self.character.jump is None:
                return Missing("", (f"jump of {self.character.name}",)).verdict
            then = after_dash(second, dash.frames + self.character.jump.before_frames)
        return combos(self.game, first, then, contact, dash.out_of)

    def _spare_of_link(self, first: Move, second: Move, contact: Contact) -> int | None:
        """How many frames late a link still combos; None where it does not, or is not known to."""
        race = link_race(self.game, self.character, first, second, contact)
        if isinstance(race, Verdict) or window(race.lead.low, race.startup_frames) < 1:
            return None
        return window(race.lead.low, race.startup_frames) - 1

    def begun_in(self, first: Move, contact: Contact, slot: CancelWindow) -> Joint:
        """A movement begun in a window, its presses those of any cancel."""
        last = slot.last_delay_frames
        spare = None if last is None else last - slot.first_delay_frames
        touches = contact_clock(first, contact, slot.hit)
        stop = first.hits[slot.hit - 1].attacker_hitstop_frames
        start = None
        presses: Window | Verdict
        if isinstance(touches, Missing) or stop is None:
            presses = Missing(first.input, ("hitstop",)).verdict
        else:
            start = touches + stop + slot.first_delay_frames
            if slot.first_press_frames is None or spare is None:
                field = "cancel_frames" if slot.first_press_frames is None else "cancel_window_frames"
                presses = Missing("", (f"{field} of [buffers]",)).verdict
            else:
                presses = Window(max(1, touches - 1 + slot.first_press_frames), start + spare, start)
            start += _freeze(first)
        return Joint(slot.rule.means, slot.hit, slot.rule.name, presses, start, spare)

    def _rules_of(
        self, move: Move, known: dict[int, dict[Means, frozenset[str]]]
    ) -> dict[Means, frozenset[str]]:
        """The names of the rules, by means, that speak of the move as their source, or as their target."""
        key = self._id(move)
        if key not in known:
            source = known is self._sources
            known[key] = {
                means: frozenset(
                    rule.name
                    for rule in (*view[1].rules, *view[0].rules)
                    if fits(rule.source if source else rule.into, move)
                )
                for means, view in self._views.items()
            }
        return known[key]

    def _after_dash(self, dash_frames: int, spare_frames: int) -> Window | Verdict:
        """The presses counted from the start of a movement that was begun at once."""
        buffer = self.game.link_buffer_frames
        if buffer is None:
            return Missing("", ("link_frames of [buffers]",)).verdict
        return Window(max(1, dash_frames - buffer), dash_frames + spare_frames, dash_frames)

    def _id(self, move: Move) -> int:
        """A short key of this very move, which is kept so that nothing else gets it."""
        key = id(move)
        self._kept.setdefault(key, move)
        return key


def busy_frames(move: Move, contact: Contact) -> int | None:
    """Real frames for which the player is in the move, its own super freeze counted; None if not known."""
    free = free_clock(move, contact)
    return None if isinstance(free, Missing) else free - 1 + _freeze(move)


def _freeze(move: Move) -> int:
    return move.freeze.frames if move.freeze else 0


def _only(game: Game, character: Character, means: Means) -> tuple[Game, Character]:
    """The game and the character with the rules of these means alone."""

    def of_means(rules: tuple[CancelRule, ...]) -> tuple[CancelRule, ...]:
        return tuple(rule for rule in rules if rule.means is means)

    return replace(game, rules=of_means(game.rules)), replace(character, rules=of_means(character.rules))
