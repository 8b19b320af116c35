"""Two invented games with books of their moves, and the table of what members type in them."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from core.model import Button, Character, Game, HitState, Motion, Move, MoveKind, Scheme
from core.notation import MoveBook

SIX_BUTTONS = tuple(
    Button(strength[0].upper() + group[0].upper(), group, strength)
    for group in ("punch", "kick")
    for strength in ("light", "medium", "heavy")
)


def move(written: str, name: str = "", *aliases: str, kind: MoveKind = MoveKind.NORMAL, **more: Any) -> Move:
    """A move with this input, named after it unless a name is given."""
    return Move(written, name or f"Plain {written}", kind, aliases, **more)


SIX_MOVES = (
    *(move(f"5{button.name}") for button in SIX_BUTTONS if button.name != "MK"),
    move("5MK", "Foxxglove"),
    move("2LP", "Ärmel"),
    move("2MP", "Crouching Medium Punch"),
    move("2HP"),
    move("2LK", "Straße"),
    move("2MK"),
    move("2HK"),
    move("4MP", "Elbow", "close MP"),
    move("6HP", "Hammer Fall", "overhead"),
    move("4HK"),
    move("3HK"),
    move("5[HP]", "Long Fist"),
    move("j.HP"),
    move("j.MP"),
    move("j.2HP", "Drop, Then Roll"),
    move("236LP", "Low Lantern", "lantern"),
    move("236MP", "Mid Lantern", "lantern", by_scheme=(("simple", move("6MK", "Quick Lantern")),)),
    move("236HP", "High Lantern", "lantern"),
    move("236PP", "Twin Lantern", "qcf two", kind=MoveKind.ENHANCED),
    move("623HP", "Coil Rise"),
    move("214K", "Odrun's Reed"),
    move("421MK", "☆"),
    move("41236HP"),
    move("63214HP"),
    move("[4]6LP"),
    move("[4]6HP"),
    move("[2]8MK"),
    move("360HP", kind=MoveKind.THROW),
    move("236236P", "Great Tide", kind=MoveKind.SUPER),
    move("LP+LK", "Grab", kind=MoveKind.THROW),
    move("66", "Dash", kind=MoveKind.MOVEMENT),
)
FOUR_MOVES = tuple(
    map(move, ("5A", "5B", "5C", "5D", "2A", "2C", "4A", "A+B", "C+D", "j.B", "j.D", "236C", "5S1", "66"))
)
STATES = (
    HitState("counter hit", ("counter", "CH", "both")),
    HitState("wall stun", ("WS", "both")),
)
MOTIONS = (
    Motion("quarter circle forward", ("236", "26")),
    Motion("coil", ("623", "6236")),
    Motion("back charge", ("46",), charge_frames=40),
)

GAMES = {
    "six": Game(
        "Saltglass",
        "1",
        60,
        SIX_BUTTONS,
        ("light", "medium", "heavy"),
        hit_states=STATES,
        motions=MOTIONS,
        schemes=(Scheme("simple"),),
        characters=(Character("Odrun Vale", ("odrun",), SIX_MOVES),),
    ),
    "four": Game(
        "Ashgate",
        "1",
        60,
        (Button("A", None, "weak"), Button("B"), Button("C", None, "strong"), Button("D"), Button("S1")),
        ("weak", "strong"),
        characters=(Character("Teff", (), FOUR_MOVES),),
    ),
}
BOOKS = {name: MoveBook(game, game.characters[0]) for name, game in GAMES.items()}
SIX, ODRUN = GAMES["six"], GAMES["six"].characters[0]

DATA = tomllib.loads((Path(__file__).parent / "data" / "notation.toml").read_text(encoding="utf-8"))
