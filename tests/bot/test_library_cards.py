"""What a member reads of routes that are saved, shared, kept and taken out."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

from demo import demo

from bot.limits import CHOICE_CHARACTERS, LAYOUT_CHARACTERS
from bot.render.card import as_text
from bot.render.limits import fit_card
from bot.render.routes import (
    forgotten_card,
    kept_card,
    library_card,
    route_pick_label,
    routes_card,
    saved_card,
    shared_route_card,
)
from bot.results.library import Forgotten, Kept, PickedShared, RouteList
from bot.results.tally import SavedRoute, SharedRoute

GAME = demo("saltglass")
NOW = datetime(2026, 1, 20, 19, tzinfo=UTC)
ODRUN, MIRREL = "Odrun Vale", "Mirrel Quay"
BREAD = SavedRoute(1, GAME.name, GAME.version, ODRUN, "bread", "5MP, 2MP xx 236HP", NOW, ("corner", "punish"))
PLAIN = replace(BREAD, id=2, character=MIRREL, name="plain", notation="5MP, 2MP", tags=())
SHARED = SharedRoute(
    7, GAME.name, GAME.version, ODRUN, "bread", "5MP, 2MP xx 236HP", ("corner", "punish"), 100, NOW
)


def told(*routes: SavedRoute, tags: tuple[str, ...] = (), tag: str = "") -> str:
    return as_text(routes_card(RouteList(routes, tags, tag=tag), GAME))


def test_routes_stand_under_their_character_with_their_tags() -> None:
    assert told(BREAD, PLAIN).startswith(
        "You have 2 routes saved here.\n\n"
        "Odrun Vale\n  bread: 5MP, 2MP xx 236HP (tags: corner, punish)\n\n"
        "Mirrel Quay\n  plain: 5MP, 2MP\n"
    )


def test_only_a_route_of_another_version_says_of_which() -> None:
    older = replace(PLAIN, game_version="0.9")
    assert "plain: 5MP, 2MP (saved under version 0.9)" in told(older)
    tagged = replace(BREAD, game_version="0.9")
    assert "(tags: corner, punish; saved under version 0.9)" in told(tagged)
    assert "saved under" not in told(BREAD, PLAIN)
    shared = as_text(
        shared_route_card(PickedShared(replace(SHARED, game_version="0.9"), 1, False, False), GAME)
    )
    assert f"It was shared under version 0.9 of the game's file; this is version {GAME.version}." in shared


def test_a_tag_that_no_route_has_is_told_with_those_that_there_are() -> None:
    assert told(tags=("corner",), tag="meaty").startswith(
        "No saved route of yours has the tag meaty.\n\nWhich tags are there?\n  corner\n"
    )
    assert "Which tags" not in told(tag="meaty")
    assert "/route save keeps one" in told()


def test_the_library_says_what_was_looked_for() -> None:
    for character, tag, empty, full in (
        ("", "", "Nobody has shared a route here yet", "Shared here: 1 route."),
        (ODRUN, "", "No route of Odrun Vale is shared here yet.", "Shared here: 1 route of Odrun Vale."),
        ("", "corner", "No shared route has the tag corner.", "Shared here: 1 route with the tag corner."),
        (
            ODRUN,
            "corner",
            "No shared route of Odrun Vale has the tag corner.",
            "Shared here: 1 route of Odrun Vale with the tag corner.",
        ),
    ):
        assert library_card(RouteList((), (), character, tag), GAME).lead.startswith(empty)
        assert library_card(RouteList((SHARED,), (), character, tag), GAME).lead == full


def test_who_shared_a_route_is_named_to_nobody_but_themselves() -> None:
    own, other = (as_text(shared_route_card(PickedShared(SHARED, 1, it, it), GAME)) for it in (True, False))
    assert "You shared it." in own
    assert "You shared it." not in other
    assert "100" not in own + other


def test_what_went_with_a_forgotten_route_is_told() -> None:
    assert "conversion" not in as_text(forgotten_card(Forgotten(BREAD), GAME))
    assert "1 conversion into it went too." in as_text(forgotten_card(Forgotten(BREAD, 1), GAME))
    assert "2 conversions into it went too." in as_text(forgotten_card(Forgotten(BREAD, 2), GAME))


def test_a_copy_under_another_name_says_why() -> None:
    renamed = as_text(kept_card(Kept(replace(BREAD, name="bread 2"), taken="bread"), GAME))
    assert renamed.startswith("Saved for you as “bread 2”: 5MP, 2MP xx 236HP.")
    assert "Another route of yours is called “bread”, so this one is “bread 2”." in renamed
    assert "Why that name?" not in as_text(kept_card(Kept(BREAD), GAME))


def test_a_saved_route_says_how_it_is_found_again() -> None:
    assert "under corner, punish" in as_text(saved_card(BREAD, GAME))
    assert "tag" not in as_text(saved_card(PLAIN, GAME))


def test_a_list_of_all_that_can_be_saved_still_fits_the_platform() -> None:
    """200 routes, each with the longest name, moves and tags that there can be."""
    longest = replace(
        BREAD, name="n" * 40, notation="5MP, " * 23 + "5MP", tags=tuple(f"{n}" * 20 for n in range(5))
    )
    routes = (longest,) * 150 + (replace(longest, character=MIRREL),) * 50
    card = fit_card(routes_card(RouteList(routes), GAME))
    text = as_text(card)
    assert len(text) <= LAYOUT_CHARACTERS
    assert "the first 25 of 200" in text
    assert {group.question for group in card.groups} >= {ODRUN, MIRREL}
    for label in route_pick_label(longest):
        assert len(label) <= CHOICE_CHARACTERS
