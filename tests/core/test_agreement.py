"""The closed forms and the frame-by-frame stepper agree to the frame."""

from __future__ import annotations

import random

import pytest
from agreement import Count, Pair, in_time

from bot.gamefiles import find_game, read_game
from core.frames import advantage, contact_on, stun
from core.knockdown import knockdown_lead, meaty
from core.links import link
from core.model import (
    CancelRule,
    Character,
    Contact,
    ContactKind,
    Effect,
    Game,
    Hit,
    HitState,
    Means,
    Move,
    MoveKind,
    Outcome,
    Projectile,
    Range,
    Selector,
    Stance,
    WhichHit,
)
from core.stepper import Press, run, wake
from core.verdict import Answer

GAMES = {name: read_game(find_game(name)) for name in ("saltglass", "kitewind")}
CHARACTERS = [(name, character) for name, game in GAMES.items() for character in game.characters]
CONTACTS = (
    Contact(),
    Contact(ContactKind.BLOCK),
    Contact(state="counter hit"),
    Contact(ContactKind.WHIFF),
)


@pytest.mark.parametrize("contact", CONTACTS, ids=["hit", "block", "counter hit", "whiff"])
@pytest.mark.parametrize(
    ("name", "character"), CHARACTERS, ids=[f"{name}, {character.name}" for name, character in CHARACTERS]
)
def test_every_pair_of_a_demo_character_s_moves_agrees(
    name: str, character: Character, contact: Contact
) -> None:
    count = Count()
    for first in character.moves:
        for second in character.moves:
            Pair(GAMES[name], character, first, second, contact, count).check()
    assert count.runs > 1000


@pytest.mark.parametrize(
    ("name", "character"), CHARACTERS, ids=[f"{name}, {character.name}" for name, character in CHARACTERS]
)
def test_every_meaty_of_a_demo_character_agrees(name: str, character: Character) -> None:
    game, compared = GAMES[name], 0
    for first in character.moves:
        lead = knockdown_lead(game, first, Contact()) if first.hits else None
        if not isinstance(lead, int):
            continue
        for second in character.moves:
            if not second.hits or second.startup_frames is None or second.projectile is not None:
                continue
            for delay in range(0, lead + 2, 3):
                verdict = meaty(game, first, second, Contact(), delay)
                touched = wake(game, second, lead, delay)
                assert (verdict.answer is Answer.YES) == (touched is not None), (
                    first.input,
                    second.input,
                    delay,
                )
                if touched is not None:
                    assert touched == verdict.evidence["active_frame"]
                compared += 1
    assert compared > 100


MOST_DECAY_FRAMES = 3


def generated_move(chance: random.Random, name: str, kind: MoveKind) -> Move:
    """A move with consistent numbers: up to three spans, now and then a projectile, launch or knockdown."""
    projectile = Projectile(chance.choice([None, 0.5])) if chance.random() < 0.15 else None
    spans = chance.choice([1, 1, 1, 2, 3])
    hits = []
    for number in range(spans):
        stop = chance.randint(0, 14)
        hits.append(
            Hit(
                active_frames=chance.randint(1, 6),
                gap_frames=chance.randint(0, 6) if number else 0,
                # a projectile combos in itself: its gaps are shorter than this
                hitstun_frames=chance.randint(20 if projectile else MOST_DECAY_FRAMES, 30),
                blockstun_frames=chance.randint(20 if projectile else 1, 30),
                cancellable=chance.random() < 0.7,
                attacker_hitstop_frames=0 if projectile else stop,
                defender_hitstop_frames=stop,
            )
        )
    recovery = chance.randint(1, 30)
    lead = sum((hit.defender_hitstop_frames or 0) - (hit.attacker_hitstop_frames or 0) for hit in hits)
    left = hits[-1].active_frames - 1 + recovery
    least = max(-20, lead - left + MOST_DECAY_FRAMES)  # so that there is hitstun left when it has decayed
    on_hit, on_block = (chance.randint(least, max(12, least + 5)) for _ in range(2))
    hits[-1] = Hit(
        active_frames=hits[-1].active_frames,
        gap_frames=hits[-1].gap_frames,
        hitstun_frames=on_hit + left - lead,
        blockstun_frames=on_block + left - lead,
        cancellable=chance.random() < 0.8,
        attacker_hitstop_frames=hits[-1].attacker_hitstop_frames,
        defender_hitstop_frames=hits[-1].defender_hitstop_frames,
    )
    outcome = Outcome(Effect.STAND, Range(on_hit, on_hit))
    if chance.random() < 0.1:
        air = chance.randint(1, 50)
        outcome = Outcome(Effect.LAUNCH, air_frames=air)
        hits[-1] = Hit(
            hits[-1].active_frames,
            hits[-1].gap_frames,
            air,
            hits[-1].blockstun_frames,
            hits[-1].cancellable,
            None,
            hits[-1].attacker_hitstop_frames,
            hits[-1].defender_hitstop_frames,
        )
    startup = chance.randint(1, 22)
    return Move(
        input=name,
        name=name,
        kind=kind,
        startup_frames=startup,
        cancelled_startup_frames=chance.choice([None, None, max(1, startup - 3)]),
        hits=tuple(hits),
        recovery_frames=recovery,
        on_hit=outcome,
        on_block=Range(on_block, on_block),
        projectile=projectile,
    )


def generated_case(chance: random.Random) -> tuple[Game, Character, Move, Move, Contact]:
    """A game with a rule or none, two moves of it and a way in which the first met the defender."""
    first = generated_move(chance, "5A", MoveKind.NORMAL)
    second = generated_move(chance, "5B", MoveKind.NORMAL)
    opens = chance.randint(1, 6)
    rule = CancelRule(
        name="rule",
        means=chance.choice([Means.CANCEL, Means.CHAIN]),
        source=Selector(),
        into=Selector(),
        contact=frozenset(kind for kind in ContactKind if chance.random() < 0.7),
        first_frame=opens,
        last_frame=opens + chance.randint(0, 12),
    )
    character = Character("Anybody", moves=(first, second))
    game = Game(
        name="Generated",
        version="1",
        fps=60,
        buttons=(),
        link_buffer_frames=chance.randint(0, 6),
        cancel_buffer_frames=chance.randint(0, 6),
        cancel_window_frames=2,
        keeps_newest_press=chance.random() < 0.5,
        hitstun_decay_frames=chance.choice([(), (0, 1, 2), (0, 0, 3)]),
        hit_states=(HitState("counter hit", (), chance.randint(0, 4), chance.choice(list(WhichHit))),),
        rules=(rule,) if chance.random() < 0.6 else (),
        characters=(character,),
    )
    landed = contact_on(first, chance.randint(1, first.active_frames or 1)) or (1, 1)
    kind = chance.choice(list(ContactKind))
    if kind is ContactKind.WHIFF:
        return game, character, first, second, Contact(kind)
    flies = first.projectile is not None and first.projectile.speed is not None
    known = second.projectile is None or second.projectile.speed is not None
    contact = Contact(
        kind,
        state="counter hit" if kind is ContactKind.HIT and chance.random() < 0.4 else None,
        first_hit=landed[0] if first.projectile is None else 1,
        active_frame=landed[1] if first.projectile is None else 1,
        distance=chance.choice([None, 1.0, 2.3]) if flies and known else None,
        hits_before=chance.randint(0, 3),
    )
    return game, character, first, second, contact


@pytest.mark.parametrize("seed", range(10))
def test_a_thousand_generated_cases_of_each_seed_agree(seed: int) -> None:
    chance, count = random.Random(seed), Count()
    for number in range(1200):
        game, character, first, second, contact = generated_case(chance)
        try:
            Pair(game, character, first, second, contact, count).check()
        except AssertionError as error:
            raise AssertionError(f"case {number} of seed {seed}: {game}, {contact}: {error}") from error
    assert count.runs > 5000
    assert (
        min(count.by.get(what, 0) for what in ("link", "link late", "cancel", "no cancel", "gap", "reversal"))
        > 50
    )


@pytest.mark.parametrize("kind", [ContactKind.HIT, ContactKind.BLOCK])
@pytest.mark.parametrize(
    ("name", "character"), CHARACTERS, ids=[f"{name}, {character.name}" for name, character in CHARACTERS]
)
def test_a_link_after_an_air_attack_agrees_at_the_lowest_and_the_highest_contact(
    name: str, character: Character, kind: ContactKind
) -> None:
    game, contact, compared = GAMES[name], Contact(kind), 0
    jumping = [move for move in character.moves if move.stance is Stance.AIRBORNE and len(move.hits) == 1]
    standing = [move for move in character.moves if move.stance is Stance.STANDING and move.total_frames]
    for first in jumping:
        lead, held = advantage(game, first, contact), stun(game, first, contact, 1)
        if not isinstance(lead, Range) or not isinstance(held, int) or first.projectile or not held:
            continue
        for second in standing:
            verdict = link(game, character, first, second, contact)
            known = all(hit.blockstun_frames and hit.hitstun_frames is not None for hit in second.hits)
            if "startup_frames" not in verdict.evidence or not second.hits or not known:
                continue
            for frames, window in ((lead.low, "window_low_frames"), (lead.high, "window_high_frames")):
                size = int(verdict.evidence.get(window, verdict.evidence.get("window_frames", 0)))
                busy = held - frames
                free = run(game, first, (), contact, lands_after_frames=busy).attacker_free_frame
                for late in (size - 1, size) if size > 0 else (0,):
                    press = [Press(free + late, second)]
                    found = run(game, first, press, contact, lands_after_frames=busy).second
                    assert found is not None
                    assert in_time(found) == (late < size), (first.input, second.input, frames, late)
                    compared += 1
    assert compared > 20
