"""Moves in letters: whatever is written so is read back as the same move, and nothing else changes."""

from __future__ import annotations

import discord
import pytest
from demo import GAMES, demo
from discord import app_commands
from hypothesis import given
from hypothesis import strategies as st
from movebooks import GAMES as MOVEBOOK_GAMES
from movebooks import move as movebook_move

from bot.client.respelling import respell_choices, respell_text, respell_view
from bot.components.layout import Layout, Picture, escape
from bot.render.card import Card, Group
from core.model import Button, Character, Game
from core.notation import MoveBook, NotationError, format_route, letters_for
from core.notation.letters import DIRECTIONS, MOTIONS

SIX = tuple(Button(name) for name in ("LP", "MP", "HP", "LK", "MK", "HK"))
GROUPED = tuple(Button(name, "punch" if name.endswith("P") else "kick") for name in (one.name for one in SIX))
respell = letters_for(GROUPED)


@pytest.mark.parametrize(
    ("numbers", "letters"),
    [
        ("5MP", "st.MP"),
        ("2HK", "cr.HK"),
        ("j.HP", "j.HP"),
        ("6HP", "f+HP"),
        ("4HK", "b+HK"),
        ("3HK", "df+HK"),
        ("1LP", "db+LP"),
        ("j.2HP", "j.d+HP"),
        ("236HP", "qcf+HP"),
        ("214K", "qcb+K"),
        ("623PP", "dp+PP"),
        ("421MK", "rdp+MK"),
        ("41236LP", "hcf+LP"),
        ("63214LP", "hcb+LP"),
        ("236236HP", "qcf qcf+HP"),
        ("214214HK", "qcb qcb+HK"),
        ("j.236LP", "j.qcf+LP"),
        ("[4]6LP", "charge b f+LP"),
        ("[2]8KK", "charge d u+KK"),
        ("LP+LK", "LP+LK"),
        ("5LP+LK", "st.LP+LK"),
        ("5[HP]", "st.[HP]"),
        ("236]HP[", "qcf+]HP["),
        ("66", "66"),
        ("360HP", "360HP"),
        ("236236236HP", "236236236HP"),
        ("[1]319HP", "[1]319HP"),
    ],
)
def test_each_kind_of_input_has_its_letters_or_stays(numbers: str, letters: str) -> None:
    """How the trade writes in letters: common practice, no source."""
    assert respell(numbers) == letters
    assert respell(f"Does {numbers}, link?") == f"Does {letters}, link?"
    assert respell(escape(numbers)) == escape(letters), "as it stands on a card"


@pytest.mark.parametrize(
    "text",
    [
        "12:36 on 2 Jan 2026",
        "5 MP",
        "75 % of 236",
        "version 5MPs",
        "x5MP",
        "1.5MP",
        "<@236> <#5>",
        "https://clips.example/5MP",
        "q1|li|5MP",
        "5mp",
        "5XX",
        "",
    ],
)
def test_what_is_no_move_of_the_game_stays(text: str) -> None:
    assert respell(text) == text


def people() -> list[tuple[Game, Character, str | None]]:
    """Everybody of the demo games, and of the games whose notation is tried out, under each scheme."""
    games = [*(demo(name) for name in GAMES), *MOVEBOOK_GAMES.values()]
    return [
        (game, who, scheme)
        for game in games
        for who in game.characters
        for scheme in (None, *(one.name for one in game.schemes))
    ]


PEOPLE = people()
IDS = [f"{game.name}, {who.name}, {scheme}" for game, who, scheme in PEOPLE]


@pytest.mark.parametrize(("game", "who", "scheme"), PEOPLE, ids=IDS)
def test_every_move_in_letters_is_that_move(game: Game, who: Character, scheme: str | None) -> None:
    book, letters = MoveBook(game, who, scheme), letters_for(game.buttons)
    for move in who.moves:
        numbers = move.under(scheme).input
        try:
            found = book.find(numbers)
        except NotationError:
            continue  # it is not read in numbers either
        assert book.find(letters(numbers)) is found, letters(numbers)
        assert book.find(letters(numbers).lower()) is found


@given(st.sets(st.sampled_from("ABCDEFGHJKLMNPQRSTUVWXYZ"), min_size=1, max_size=6))
def test_no_game_has_buttons_by_which_letters_would_be_misread(names: set[str]) -> None:
    buttons = tuple(Button(name) for name in sorted(names))
    inputs = [f"{digits}{name}" for name in names for digits in ("5", *DIRECTIONS, *MOTIONS)]
    inputs += [f"j.{one}" for one in inputs if one[0] != "5"]
    inputs += [f"[{held}]{then}{name}" for name in names for held, then in ("46", "28")]
    game = Game("Bare", "1", 60, buttons=buttons)
    who = Character("Teff", (), tuple(movebook_move(one) for one in inputs))
    book, letters = MoveBook(game, who), letters_for(buttons)
    for move in who.moves:
        assert book.find(letters(move.input)) is move, letters(move.input)


def test_an_address_stays_as_it_is() -> None:
    text = "5MP: [clip](https://clips.example/a-5MP) 2HK, http://clips.example/2LP-2LP?b,5MP"
    told = "st.MP: [clip](https://clips.example/a-5MP) cr.HK, http://clips.example/2LP-2LP?b,5MP"
    assert respell(text) == told


def test_a_row_of_buttons_is_done_with_soon_where_names_begin_like_others() -> None:
    one_like_others = letters_for(tuple(Button(name) for name in ("P", "PP", "PPP")))
    endless = "5" + 400 * "P" + "x"  # to try all the ways to cut it up, no time would be enough
    assert one_like_others(endless) == endless
    assert one_like_others("5PPPPP") == "st.PPPPP"


@given(st.data())
def test_every_route_in_letters_is_that_route(data: st.DataObject) -> None:
    game, who, scheme = data.draw(st.sampled_from(PEOPLE))
    moves = st.sampled_from([move.under(scheme).input for move in who.moves])
    joins = st.sampled_from([", ", " xx ", " > ", " ~ "])
    steps = data.draw(st.lists(st.tuples(moves, joins), min_size=1, max_size=6))
    text = "".join(part for step in steps for part in step).rstrip(", ~>x")
    book = MoveBook(game, who, scheme)
    try:
        route = book.route(text)
    except NotationError:
        return
    written = format_route(route)
    assert book.route(letters_for(game.buttons)(written)) == book.route(written)


@given(st.text(alphabet="256j.[]HP MKL+,x:/ "))
def test_twice_is_as_once_and_lines_stay_apart(text: str) -> None:
    once = respell(text)
    assert respell(once) == once
    assert once.count("\n") == text.count("\n")


def test_a_view_is_written_anew_but_what_its_buttons_carry_is_not() -> None:
    button: discord.ui.Button[Layout] = discord.ui.Button(label="Does 2MP link?", custom_id="q1|2MP")
    option = discord.SelectOption(label="5MP, 2MP", value="5MP")
    pick: discord.ui.Select[Layout] = discord.ui.Select(custom_id="p1|2MP", options=[option])
    card = Card("5MP links.", (Group("[4]6LP?", ("2HK: no.",)),), ("236HP is slow.",), "Saltglass")
    layout = Layout(card, None, [button], pictures=[Picture("5MP.png", b"", "2HK at 5")], pick=pick)
    respell_view(layout, respell)
    sent = str(layout.to_components())
    for words in ("st.MP links", "cr.HK: no", "qcf+HP is slow", "charge b f+LP", "cr.MP link", "cr.HK at 5"):
        assert words in sent, words
    assert (button.custom_id, pick.custom_id, option.value) == ("q1|2MP", "p1|2MP", "5MP")
    assert option.label == "st.MP, cr.MP"
    assert "attachment://5MP.png" in sent


def test_what_would_be_too_long_stays_as_it_is() -> None:
    lines = tuple(30 * "5MP " + str(number) for number in range(40))
    layout = Layout(Card("5MP", (Group("5MP", lines),), (), "Saltglass"))
    before = layout.to_components()
    respell_view(layout, respell)
    assert layout.to_components() == before
    assert respell_text("5MP" + 76 * "x", respell, 79) == "5MP" + 76 * "x"
    (one,) = respell_choices([app_commands.Choice(name="2MP" + 97 * " ", value="2MP")], respell)
    assert (one.name.strip(), one.value) == ("2MP", "2MP")


def test_what_is_offered_is_shown_in_letters_and_sent_in_numbers() -> None:
    (one,) = respell_choices([app_commands.Choice(name="2MP: low reed", value="2MP")], respell)
    assert (one.name, one.value) == ("cr.MP: low reed", "2MP")
