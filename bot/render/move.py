"""One move's card: what it is, what it leaves, where it leads. Never a table of its numbers."""

from __future__ import annotations

from bot.render.card import Card, Group
from bot.render.lists import best_cancels, best_links, named
from bot.render.parts import Words, is_yes, number
from bot.render.wording import field_name, signed
from bot.results.ask import Advantage, Asked, MoveFacts
from core.blocks import damage
from core.frames import outcome
from core.model import Contact, Effect, Move, MoveKind, Outcome, Range
from core.verdict import Missing


def move_card(asked: Asked, found: MoveFacts) -> Card:
    """A card on one move."""
    words, move = Words(asked), asked.moves[0]
    if move.kind is MoveKind.MOVEMENT:
        lead = words.lead("move-plain", what=_what(move))
        total = move.total_frames
        lines = [words.line("fast-long", total=total)] if total is not None else []
        return words.card(lead, words.group("fast", lines))
    lead = words.lead(
        "move-hits",
        startup=words("pieces", "unknown-number") if move.startup_frames is None else move.startup_frames,
        on_hit=_outcome(words, outcome(asked.game, move, Contact())),
        on_block=_advantage(words, move.on_block),
    )
    groups: tuple[Group, ...] = (
        *words.group("called", _called(words, move)),
        *words.group("fast", _fast(words, move)),
        *words.group("leaves", _leaves(words, move)),
        *words.group("block", _blocked(words, move, found)),
        *words.group("damage", _damage(words, move)),
        *words.group("reach", _reach(words, move)),
        *words.group(
            "cost", [words.line("costs", costs=_costs(move)).capitalize() + "."] if move.costs else []
        ),
        *words.group("leads-to", _leads(words, found)),
        *words.group("unknown", _missing(words, move)),
    )
    return words.card(lead, groups)


def plus_card(asked: Asked, found: Advantage) -> Card:
    """A card on what a touch leaves the attacker."""
    words, known = Words(asked), None if isinstance(found.frames, Missing) else found.frames
    if found.effect is not Effect.STAND:
        lead = words.lead(f"plus-{found.effect.value}", advantage=known.low if known else None)
    elif known is None:
        lead = words.lead("plus-unknown")
    elif not known.exact:
        lead = words.lead("plus-height", low=known.low, high=known.high)
    else:
        key = "plus-yes" if known.low > 0 else "plus-even" if known.low == 0 else "plus-no"
        lead = words.lead(key, advantage=known.low, frames=abs(known.low))
    reasons = words.reasons(found.frames.verdict.reasons) if isinstance(found.frames, Missing) else ()
    return words.card(lead, reasons=reasons)


def _what(move: Move) -> str:
    """What it is in words: a crouching medium normal, a level 2 super ..."""
    if move.kind is MoveKind.NORMAL:
        return " ".join(filter(None, (move.stance.value, move.strength, move.kind.value)))
    return f"level {move.level} {move.kind.value}" if move.level is not None else move.kind.value


def _called(words: Words, move: Move) -> list[str]:
    lines = [words.line("is-a", what=_what(move))]
    if move.aliases:
        lines.append(words.line("also-called", names=", ".join(move.aliases)))
    return lines


def _fast(words: Words, move: Move) -> list[str]:
    lines = []
    if move.startup_frames is not None and move.active_frames is not None:
        lines.append(words.line("fast-first", startup=move.startup_frames, active=move.active_frames))
    if move.cancelled_startup_frames is not None:
        lines.append(words.line("fast-cancelled", startup=move.cancelled_startup_frames))
    if move.total_frames is not None:
        lines.append(words.line("fast-over", total=move.total_frames))
    return lines


def _leaves(words: Words, move: Move) -> list[str]:
    game = words.asked.game
    plain = outcome(game, move, Contact())
    lines = [
        words.line("leaves-hit", advantage=_outcome(words, plain)),
        words.line("leaves-block", advantage=_advantage(words, move.on_block)),
    ]
    in_states = {state.name: outcome(game, move, Contact(state=state.name)) for state in game.hit_states}
    lines += [
        words.line("leaves-state", state=name.capitalize(), advantage=_outcome(words, result))
        for name, result in in_states.items()
        if result != plain
    ]
    return lines


def _blocked(words: Words, move: Move, found: MoveFacts) -> list[str]:
    lines = [words.line(f"blocked-{move.hit_level.value}")]
    free = -(number(found.safe.evidence, "advantage_on_block_frames") or 0)
    if is_yes(found.safe):
        lines.append(words.line("safe-blocked"))
    elif free > 0:
        lines.append(words.line("punished-by", free=free))
    return lines


def _damage(words: Words, move: Move) -> list[str]:
    whole = damage(move)
    if whole is None:
        return []
    key = "does-damage" if len(move.hits) == 1 else "does-damage-hits"
    return [words.line(key, damage=whole, hits=len(move.hits))]


def _reach(words: Words, move: Move) -> list[str]:
    if move.projectile is not None:
        return [words.line("reaches-projectile")]
    return [] if move.reach is None else [words.line("reaches", reach=move.reach)]


def _costs(move: Move) -> str:
    return " and ".join(f"{amount} {gauge}" for gauge, amount in move.costs)


def _leads(words: Words, found: MoveFacts) -> list[str]:
    links, cancels = best_links(found.follow_ups), best_cancels(found.follow_ups)
    lines = []
    if links:
        lines.append(words.line("links-into", moves=named(words, links)))
    if cancels:
        lines.append(words.line("cancels-into", moves=named(words, cancels)))
    return lines or [words.line("leads-nowhere")]


def _missing(words: Words, move: Move) -> list[str]:
    numbers = {
        "startup": move.startup_frames,
        "active": move.hits or None,
        "recovery": move.recovery_frames,
        "on_hit": move.on_hit,
        "on_block": move.on_block,
    }
    fields = [field_name(field) for field, value in numbers.items() if value is None]
    return [words.line("missing", fields=", ".join(fields))] if fields else []


def _advantage(words: Words, advantage: Range | None) -> str:
    if advantage is None:
        return words("pieces", "unknown-number")
    if not advantage.exact:
        return f"{signed(advantage.low)} to {signed(advantage.high)}"
    return signed(advantage.low) if advantage.low else words("pieces", "even")


def _outcome(words: Words, result: Outcome | Missing) -> str:
    if isinstance(result, Missing):
        return words("pieces", "unknown-number")
    if result.effect is Effect.LAUNCH:
        return words("pieces", "launch", air=result.air_frames)
    if result.effect is Effect.KNOCKDOWN:
        return words("pieces", "knockdown", lead=result.advantage.low if result.advantage else None)
    return _advantage(words, result.advantage)
