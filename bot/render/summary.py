"""What a game file holds, in a few lines: characters, moves, and which numbers it leaves out."""

from __future__ import annotations

from collections import Counter

from bot.render.wording import counted, field_name
from core.model import Game, HitLevel, Move, MoveKind


def summary(game: Game) -> str:
    """The summary of a game, as plain text."""
    lines = [f"{game.name}, version {game.version}: no problems."]
    lines += [f"  {who.name}: {counted(len(who.moves), 'move')}" for who in game.characters]
    unknown = unknown_numbers(game)
    if not unknown:
        return "\n".join([*lines, "Every number is there."])
    lines.append("Left out, so that questions which need them are answered with unknown:")
    lines += [f"  {field_name(field)}: {counted(count, 'move')}" for field, count in unknown.items() if count]
    lines += [f"  {field_name(field)}" for field, count in unknown.items() if not count]
    return "\n".join(lines)


def unknown_numbers(game: Game) -> dict[str, int]:
    """The fields that the file leaves out, with how many moves lack each; 0 for a rule of the game."""
    counts: Counter[str] = Counter()
    for who in game.characters:
        for move in who.moves:
            counts.update(_unknown(move))
    rules = {
        "link_frames of [buffers]": game.link_buffer_frames,
        "cancel_frames of [buffers]": game.cancel_buffer_frames,
        "cancel_window_frames of [buffers]": game.cancel_window_frames,
    }
    jumps = {f"jump of {who.name}": who.jump for who in game.characters}
    return dict(counts) | {name: 0 for name, value in {**rules, **jumps}.items() if value is None}


def _unknown(move: Move) -> list[str]:
    """Each number that bears on this move and is left out."""
    if move.kind is MoveKind.MOVEMENT:
        lengths = {"recovery": move.recovery_frames, "travel": move.travel}
        return [field for field, length in lengths.items() if length is None]
    throw = move.hit_level is HitLevel.THROW
    bears = {
        "startup": move.startup_frames is None,
        "active": not move.hits,
        "recovery": move.recovery_frames is None,
        "on_hit": move.on_hit is None,
        "on_block": move.on_block is None and not throw and move.hit_level is not HitLevel.UNBLOCKABLE,
        "damage": any(hit.damage is None for hit in move.hits),
        "hitstop": any(hit.attacker_hitstop_frames is None for hit in move.hits),
        "hitstun of an earlier hit": any(hit.hitstun_frames is None for hit in move.hits[:-1]),
        "blockstun of an earlier hit": any(hit.blockstun_frames is None for hit in move.hits[:-1]),
        "cancel permission of an earlier hit": any(hit.cancellable is None for hit in move.hits),
        "reach": move.reach is None and move.projectile is None,
        "pushback_on_hit": move.pushback_on_hit is None and not throw,
        "pushback_on_block": move.pushback_on_block is None and not throw,
    }
    return [field for field, unknown in bears.items() if unknown]
