"""Patch day as it is read: what breaks and whom it concerns first, nobody named, no wall of numbers."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from patched import SALT, patched_salt, salt

from bot.gamefiles import game_of
from bot.render.card import Card, as_text
from bot.render.patch_notes import cancel_lines, link_lines, own_line
from bot.render.patches import (
    SHOWN,
    open_label,
    patch_notice_card,
    post_card,
    sheet_card,
    sheet_text,
)
from bot.results.games import Edition
from bot.results.patches import Concerns, Keep, KeptMoves, PatchNotice, PatchSheet, Touched, Version, in_order
from bot.results.place import Owner
from bot.services.patch_work import routes_touched, what_follows
from core.model import Game
from core.patches import RouteChange, RouteEffect, SavedText

WHEN = datetime(2026, 3, 2, tzinfo=UTC)
OLD, NEW = game_of(salt()), game_of(patched_salt())
ODRUN, ME, OTHER = "Odrun Vale", 101, 102


def version(game: Game, number: int) -> Version:
    return Version(Edition(number, 1, SALT, game.version, 900, WHEN, ""), game)


def saved(notation: str, name: str = "bread", member: int = ME, keep: Keep = Keep.SAVED) -> KeptMoves:
    return KeptMoves(keep, 1, member, ODRUN, notation, name)


def sheet_of(*kept: KeptMoves, new: Game = NEW) -> PatchSheet:
    """What changed for a server where this is kept."""
    patch, follows = what_follows(OLD, new)
    texts = [SavedText(at, one.character, one.notation) for at, one in enumerate(kept)]
    changes = dict(routes_touched(OLD, new, patch, texts))
    touched = in_order([Touched(one, changes[at]) for at, one in enumerate(kept) if at in changes])
    concerns = Concerns(touched)
    mine = concerns.of(ME)
    opens = tuple((at, at + 1) for at in range(len(mine)))
    return PatchSheet(version(OLD, 1), version(new, 2), patch, follows, concerns, mine, opens)


def lines_of(card: Card, question: str) -> tuple[str, ...]:
    return next(group.lines for group in card.groups if group.question == question)


def line(effect: RouteEffect, **facts: int | float | None) -> str:
    return own_line(Touched(saved("5MP, 2MP"), replace(RouteChange(effect), **facts)), NEW)


def test_the_lead_says_what_of_mine_breaks() -> None:
    card = sheet_card(sheet_of(saved("5MP, 2MK"), saved("5MP, 2MP", "steady")))
    assert card.lead == "Version 1.3 of Saltglass breaks 1 route of yours."
    assert lines_of(card, "What of mine does it touch?") == (
        "“bread” breaks at 2MK: 5MP leaves you +6 on hit, and 2MK starts in 7 frames: 1 frame too slow. "
        "Nearest that works: 5MP, 2MP.",
        "“steady” is harder: its tightest link takes 1 frame, was 2; typical hands land it 78 % of the time, "
        "were 87 %.",
    )
    assert card.groups[0].question == "What of mine does it touch?"


@pytest.mark.parametrize(
    ("kept", "lead"),
    [
        ([saved("5MP, 2MP")], "Version 1.3 of Saltglass changes 1 route of yours; nothing of yours breaks."),
        ([], "Version 1.3 of Saltglass touches nothing that you saved or have as homework."),
        (
            [saved("5MP, 2MK"), saved("5MP, 2MK", "", keep=Keep.HOMEWORK)],
            "Version 1.3 of Saltglass breaks 1 route and 1 piece of homework of yours.",
        ),
    ],
)
def test_the_lead_says_what_is_touched_and_that_nothing_is(kept: list[KeptMoves], lead: str) -> None:
    assert sheet_card(sheet_of(*kept)).lead == lead


def test_numbers_links_and_whom_it_concerns_come_in_groups_of_few_lines() -> None:
    card = sheet_card(sheet_of(saved("5MP, 2MK", member=OTHER)))
    assert lines_of(card, "What changed from 1.2 to 1.3?") == (
        "Odrun Vale's 5MP: advantage on hit is +6, was +7.",
        "Odrun Vale's 214LK: damage is 760, was 700.",
        "Mirrel Quay's 2MP: damage is 550, was 600.",
    )
    lost, tighter = lines_of(card, "Which links changed?")
    assert lost.startswith("Lost for Odrun Vale: 5MP, 2MK; ")
    assert "5MP, 2MP (1 frame, was 2)" in tighter
    assert tighter.endswith(" more.")
    assert lines_of(card, "Whom does it concern?") == (
        "1 route that a member saved breaks: its owner is told in private.",
    )


def test_what_a_card_cannot_hold_stands_whole_in_a_file() -> None:
    sheet = sheet_of()
    text = sheet_text(sheet)
    assert text is not None
    for change in sheet.follows.links:
        assert f"{change.first}, {change.second}" in text
    few = replace(sheet, follows=replace(sheet.follows, links=sheet.follows.links[:2], cancels=()))
    assert sheet_text(few) is None


def test_a_patch_of_many_numbers_shows_the_first_and_how_many_there_are() -> None:
    moves = [move.input for who in OLD.characters if who.name == ODRUN for move in who.moves[:20]]
    new = game_of(patched_salt("1.3", tuple((ODRUN, one, "reach", "3.1") for one in moves)))
    sheet = sheet_of(new=new)
    card = sheet_card(sheet)
    shown = lines_of(card, "What changed from 1.2 to 1.3?")
    assert len(shown) == SHOWN + 1
    assert shown[-1] == f"… and {20 - SHOWN} more changes."
    assert str(sheet_text(sheet)).count("reach is 3.1") == 20


def test_the_post_names_no_member_and_no_route_of_theirs() -> None:
    kept = [
        saved("5MP, 2MK", "secret sauce"),
        saved("5MP, 2MP", "hidden", OTHER),
        saved("5MP, 2MK", "", OTHER, Keep.HOMEWORK),
        saved("5MP, 2MK", "for all", OTHER, Keep.SHARED),
        saved("5MP, 2MP", "as well", OTHER, Keep.SHARED),
        saved("5MP, 2MP", "", 0, Keep.DRILL),
    ]
    card = post_card(sheet_of(*kept))
    assert card.lead == "Saltglass is at version 1.3, which breaks 1 route that a member saved."
    told = as_text(card)
    assert "secret" not in told
    assert "hidden" not in told
    assert lines_of(card, "Whom does it concern?") == (
        "2 routes that members saved change, and 1 of them breaks: their owners are told in private.",
        "1 piece of homework breaks: its owner is told in private.",
        "The drill Odrun Vale's 5MP, 2MP is harder: its tightest link takes 1 frame, was 2; typical hands "
        "land it 78 % of the time, were 87 %.",
        "The shared route “for all” breaks at 2MK: 5MP leaves you +6 on hit, and 2MK starts in 7 frames: "
        "1 frame too slow. Nearest that works: 5MP, 2MP.",
        "Shared routes that it touches: “as well”.",
    )


def test_the_post_says_when_links_go_but_no_route_breaks_and_when_nothing_is_lost() -> None:
    card = post_card(sheet_of())
    assert card.lead == "Saltglass is at version 1.3, which takes 9 links away; no saved route breaks."
    new = game_of(patched_salt("1.3", ((ODRUN, "5LP", "damage", "310"),)))
    card = post_card(sheet_of(new=new))
    assert card.lead == "Saltglass is at version 1.3; no link is lost and no saved route breaks."


def test_a_notice_says_what_breaks_and_what_to_do_where_it_is_read() -> None:
    sheet = sheet_of(saved("5MP, 2MK"), saved("5MP, 2MP", "steady"))
    notice = PatchNotice(Owner(1, ME), sheet.before, sheet.after, sheet.mine, sheet.opens)
    card = patch_notice_card(notice, "Harbour", at_home=True)
    assert card.lead == "Version 1.3 of Saltglass in Harbour breaks 1 route of yours."
    assert "Pick one below" in as_text(card)
    elsewhere = as_text(patch_notice_card(notice, "Harbour", at_home=False))
    assert "Type /patch in Harbour" in elsewhere
    assert "below" not in elsewhere
    left = patch_notice_card(notice, None, at_home=False)
    assert left.lead == "Version 1.3 of Saltglass breaks 1 route of yours."


@pytest.mark.parametrize(
    ("told", "said"),
    [
        (line(RouteEffect.MENDED, new_damage=1200), "“bread” works now, and does 1,200 damage."),
        (line(RouteEffect.MENDED), "“bread” works now."),
        (line(RouteEffect.DAMAGE, old_damage=900, new_damage=1200), "“bread” does 1,200 damage, was 900."),
        (
            line(RouteEffect.DAMAGE, old_damage=900, new_damage=1200, old_frames=2, new_frames=1),
            "“bread” does 1,200 damage, was 900. Its tightest link takes 1 frame, was 2.",
        ),
        (line(RouteEffect.DAMAGE, new_damage=1200), "“bread” does 1,200 damage."),
        (
            line(RouteEffect.EASIER, old_frames=1, new_frames=3),
            "“bread” is easier: its tightest link takes 3 frames, was 1.",
        ),
        (
            line(RouteEffect.HARDER, old_frames=2, new_frames=2, old_rate=0.9, new_rate=0.7),
            "“bread” is harder: typical hands land it 70 % of the time, were 90 %.",
        ),
        (line(RouteEffect.HARDER), "“bread” is harder."),
        (line(RouteEffect.BREAKS), "“bread” breaks."),
    ],
)  # fmt: skip
def test_each_effect_has_a_sentence_also_where_a_number_is_not_known(told: str, said: str) -> None:
    assert told == said


def test_a_move_that_is_gone_or_takes_another_input_is_said_so() -> None:
    breaks = replace(RouteChange(RouteEffect.BREAKS), failing=1, failing_move="2MP")
    gone = own_line(Touched(saved("5MP, 2MP"), breaks), NEW)
    assert gone == "“bread” breaks: there is no 2MP any more."


def test_a_route_in_the_list_says_its_moves_that_work() -> None:
    (one,) = sheet_of(saved("5MP, 2MK")).mine
    assert open_label(one) == ("“bread”: breaks", "5MP, 2MP")


def test_a_route_that_can_be_mended_in_part_says_the_moves_that_are_opened() -> None:
    (one,) = sheet_of(saved("5MP, 2MK")).mine
    assert one.change.repair is not None
    part = replace(one.change, repair=replace(one.change.repair, whole=False), repaired="5MP, 2LP")
    assert open_label(replace(one, change=part)) == ("“bread”: breaks", "5MP, 2LP")


def test_a_conversion_that_goes_through_a_route_is_named_beside_it() -> None:
    kept = replace(saved("5MP, 2MK"), situations=("hit", "punish"))
    (told,) = lines_of(sheet_card(sheet_of(kept)), "What of mine does it touch?")
    assert told.endswith(" You play it on hit, punish.")


def test_cancels_that_a_rule_gives_or_takes_stand_in_one_line_for_each_move() -> None:
    new = game_of(patched_salt("1.3", ((ODRUN, "5MK", "tags", "special-cancellable"),)))
    _, follows = what_follows(OLD, new)
    (gained,) = cancel_lines(follows.cancels)
    assert gained.startswith("Odrun Vale's 5MK on hit and block now goes into 236LP, 236MP")
    assert gained.endswith(" more.")
    _, follows = what_follows(new, OLD)
    (lost,) = cancel_lines(follows.cancels, None)
    assert "no longer goes into" in lost
    assert "214214HK" in lost
    assert list(link_lines(())) == []


def test_a_shared_route_stands_once_beside_the_one_that_was_shared() -> None:
    mine = sheet_of(saved("5MP, 2MK"), saved("5MP, 2MK", "for all", keep=Keep.SHARED)).mine
    assert [one.kept.keep for one in mine] == [Keep.SAVED]
    (alone,) = sheet_of(saved("5MP, 2MK", "for all", keep=Keep.SHARED)).mine
    assert own_line(alone, NEW).startswith("“for all”, which you share, breaks at 2MK")


def renamed(game: Game, old: str, new: str) -> Game:
    """The game with one of Odrun Vale's moves under another input."""
    people = [
        replace(who, moves=tuple(replace(one, input=new) if one.input == old else one for one in who.moves))
        if who.name == ODRUN
        else who
        for who in game.characters
    ]
    return replace(game, version="1.3", characters=tuple(people))


def test_a_route_that_needs_only_another_input_says_which() -> None:
    sheet = sheet_of(saved("5MP, 2MP"), new=renamed(OLD, "2MP", "1MP"))
    (told,) = lines_of(sheet_card(sheet), "What of mine does it touch?")
    assert told == "“bread” takes another input now: 5MP, 1MP."
    assert open_label(sheet.mine[0]) == ("“bread”: breaks", "5MP, 1MP")
