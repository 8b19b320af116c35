"""What is said of conversions and the quiz: one sentence first, and what to do next."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from demo import demo

from bot.limits import LABEL_CHARACTERS, LAYOUT_CHARACTERS
from bot.render.card import Card, as_text
from bot.render.conversions import (
    answer_card,
    choice_label,
    cleared_card,
    conversion_refusal_card,
    proposal_label,
    question_card,
    set_card,
    sheet_card,
    situation_words,
)
from bot.render.forms import pick_label
from bot.render.limits import fit_card
from bot.render.log import list_card, one_card
from bot.render.progress import overview_card
from bot.results.conversion import (
    Cell,
    CellState,
    ClearedConversion,
    ConversionRefusal,
    ConversionRefusalCode,
    Outcome,
    Proposal,
    Question,
    QuizAnswer,
    SetConversion,
    Sheet,
    StarterRow,
)
from bot.results.log import Listed
from bot.results.practice import Overview, Practised
from bot.results.tally import KeptConversion, KeptTally, SavedRoute, Subject, SubjectKind, Tally
from core.learning.calendar import Row, Standing
from core.learning.rates import TooFew, tell
from core.learning.tally import Context
from core.notation import parse_route
from core.routes import check
from core.situations import Situation, situation_named, situations
from core.verdict import Facts

GAME = demo("saltglass")
ODRUN = GAME.characters[0]
NOW = datetime(2026, 3, 2, 20, 15, tzinfo=UTC)


def where(name: str) -> Situation:
    found = situation_named(GAME, name)
    assert found is not None
    return found


def saved(name: str = "bread", notation: str = "5MP, 2MP xx 214LK") -> SavedRoute:
    return SavedRoute(3, GAME.name, GAME.version, ODRUN.name, name, notation, NOW)


def kept(situation: str = "hit", route: SavedRoute | None = None) -> KeptConversion:
    return KeptConversion(1, GAME.name, ODRUN.name, "5MP", situation, route or saved())


def answer(outcome: Outcome, seconds: float = 1.84, **others: Any) -> QuizAnswer:
    again = NOW + others.pop("wait", timedelta(days=3))
    return QuizAnswer(GAME, kept(), where("hit"), outcome, seconds, 3, again, NOW, **others)


def lead(card: Card) -> str:
    return card.lead


def test_each_situation_has_words_of_its_own_in_every_place() -> None:
    for section in ("conversion-on", "conversion-short", "conversion-and"):
        told = [situation_words(one, section) for one in situations(GAME)]
        assert len(set(told)) == len(told)
    assert situation_words(where("counter hit")) == "it is a counter hit"
    assert situation_words(where("off balance")) == "their state is “off balance”"


def test_what_is_kept_is_said_in_one_sentence() -> None:
    judged = check(GAME, ODRUN, parse_route("5MP, 2MP xx 214LK", GAME, ODRUN))
    told = SetConversion(GAME, kept("counter hit"), where("counter hit"), judged)
    assert lead(set_card(told)) == (
        "Kept: you land 5MP, and it is a counter hit, then you play “bread” for 1,795 damage."
    )
    assert "like a plain hit" not in as_text(set_card(told))
    corner = SetConversion(GAME, kept("corner"), where("corner"), judged)
    assert "these are like a plain hit: corner." in as_text(set_card(corner))
    gone = cleared_card(ClearedConversion(GAME, kept("meaty"), where("meaty")))
    assert gone.lead == "Taken back: nothing is kept any more for when you land 5MP, and it hits meaty."


def sheet(*cells: Cell, proposals: tuple[Proposal, ...] = (), searched: bool = True) -> Sheet:
    """A sheet of one starter with these cells; the other situations are gaps."""
    given = {cell.situation.name: cell for cell in cells}
    row = tuple(given.get(one.name, Cell(one, CellState.GAP)) for one in situations(GAME))
    return Sheet(GAME, ODRUN, (StarterRow("5MP", row),), proposals, searched)


def test_a_sheet_is_grouped_by_starter_with_its_gaps_and_what_would_fill_them() -> None:
    found = Subject(GAME.name, ODRUN.name, SubjectKind.ROUTE, "off balance 5MP, 5HP")
    told = sheet_card(
        sheet(
            Cell(where("hit"), CellState.FILLED, saved(), 1795),
            Cell(where("meaty"), CellState.BROKEN, saved("old", "5MP, 5HK")),
            proposals=(
                Proposal("5MP", where("counter hit"), 1900, route=saved("big")),
                Proposal("5MP", where("off balance"), 1500, found=found, subject_id=9),
            ),
        )
    )
    assert told.lead == "You have 1 conversion with Odrun Vale, and 1 more that no longer works."
    group = told.groups[0]
    assert group.question == "When 5MP lands"
    assert group.lines == (
        "On a plain hit: “bread” (5MP, 2MP xx 214LK), 1,795 damage.",
        "On a counter hit: nothing yet, and your “big” works there, 1,900 damage.",
        "In the state “off balance”: nothing yet; off balance 5MP, 5HP would work there, 1,500 damage.",
        "Meaty: “old” (5MP, 5HK) does not work any more; choose another.",
        "Nothing yet: full gauges, in the air.",
    )


def test_what_the_game_file_makes_no_difference_of_is_said_once() -> None:
    text = as_text(sheet_card(sheet(Cell(where("hit"), CellState.FILLED, saved(), 1795))))
    assert text.count("these are like a plain hit: punish, corner.") == 1
    assert "You have 1 conversion with Odrun Vale." in text


def test_an_empty_sheet_says_how_to_fill_it_in() -> None:
    text = as_text(sheet_card(sheet()))
    assert text.startswith("You have not said yet what you do when a starter of Odrun Vale lands.")
    assert "/conversion set" in text
    assert "ask again in a moment" in as_text(sheet_card(sheet(searched=False)))


def test_the_largest_sheet_fits_the_platform() -> None:
    name = "*" * 40
    cells = tuple(
        Cell(one, CellState.FILLED, saved(name, "5MP, " * 20 + "5MP"), 99_999) for one in situations(GAME)
    )
    whole = Sheet(GAME, ODRUN, tuple(StarterRow(f"{n}MP", cells) for n in range(40)))
    fitted = fit_card(sheet_card(whole))
    assert len(as_text(fitted)) <= LAYOUT_CHARACTERS
    assert fitted.lead.startswith("You have 320 conversions")


def test_the_buttons_name_what_they_do_and_fit() -> None:
    own = Proposal("5MP", where("counter hit"), 1900, route=saved("big punish"))
    assert proposal_label(own) == "5MP, counter hit: big punish"
    found = Subject(GAME.name, ODRUN.name, SubjectKind.ROUTE, "5MP, 5MK, " * 12)
    other = Proposal("5MP", where("hit"), None, found=found, subject_id=1)
    assert proposal_label(other).startswith("Look at 5MP, 5MK")
    for label in (
        proposal_label(other),
        proposal_label(replace(own, route=saved("x" * 90))),
        choice_label(saved("y" * 90)),
    ):
        assert len(label) == LABEL_CHARACTERS


def test_a_question_is_read_at_a_glance() -> None:
    asked = Question(GAME, 1, kept("counter hit"), where("counter hit"), (saved(), saved("low")), 3)
    card = question_card(asked)
    assert card.lead == "You land 5MP, and it is a counter hit. What now?"
    assert "3 seconds are in time" in as_text(card)
    assert "bread" not in as_text(card)
    assert "It was not due yet" in as_text(question_card(replace(asked, ahead=True)))


@pytest.mark.parametrize(
    ("outcome", "seconds", "says"),
    [
        (Outcome.RIGHT, 1.84, "Right, in 1.8 seconds: “bread”."),
        (Outcome.SLOW, 4.2, "Right, but slow: 4.2 seconds, where 3 are in time."),
        (Outcome.WRONG, 1, "Not that one: here you play “bread”."),
        (Outcome.WRONG, 9, "Not that one, and late: here you play “bread”."),
    ],
)
def test_an_answer_is_judged_in_one_sentence(outcome: Outcome, seconds: float, says: str) -> None:
    assert lead(answer_card(answer(outcome, seconds))) == says


def test_an_answer_says_what_the_route_is_and_when_it_comes_again() -> None:
    other = saved("low", "5MP, 2MK xx 236LP")
    text = as_text(answer_card(answer(Outcome.WRONG, chosen=other, wait=timedelta(minutes=1))))
    assert "bread: 5MP, 2MP xx 214LK." in text
    assert "You chose low: 5MP, 2MK xx 236LP." in text
    assert "In 1 minute." in text
    later = answer(Outcome.RIGHT, wait=timedelta(days=1, hours=4))
    assert "On 4 Mar 2026," in as_text(answer_card(later))
    assert "On 3 Mar 2026," in as_text(answer_card(later, ZoneInfo("America/Los_Angeles")))
    assert "not of your hands" in as_text(answer_card(later))


FACTS: dict[str, Any] = {
    "typed": "5QQ",
    "problem": "no such move.",
    "known": "hit, meaty",
    "name": "bread",
    "begins": "5MP",
    "starter": "2MK",
    "notation": "5MP, 2MP",
    "situation": "hit",
    "most": 200,
    "character": "Odrun Vale",
}


@pytest.mark.parametrize("code", ConversionRefusalCode)
def test_every_refusal_is_one_sentence_on_what_would_be_right(code: ConversionRefusalCode) -> None:
    said = conversion_refusal_card(ConversionRefusal(GAME, code, Facts(**FACTS))).lead
    assert said.endswith((".", "!", "?"))
    assert "{" not in said


def test_a_route_that_does_not_work_there_says_why() -> None:
    judged = check(GAME, ODRUN, parse_route("5MP, 5HP", GAME, ODRUN))
    facts = Facts(name="odd", starter="5MP")
    code = ConversionRefusalCode.NOT_THERE
    card = conversion_refusal_card(ConversionRefusal(GAME, code, facts, judged, where("hit")))
    assert card.lead == "“odd” is not kept: it does not work when you land 5MP, and it is a plain hit."
    assert card.reasons
    assert "5HP" in card.reasons[0]


# Choosing, where the practice log speaks of it.

CHOICE = Subject(GAME.name, ODRUN.name, SubjectKind.CHOICE, "5MP, counter hit")


def logged(landed: int = 1) -> KeptTally:
    return KeptTally(4, 2, Tally(CHOICE, NOW, 1, landed, context=Context.REACTION, game_version="1.2"))


def test_an_answer_in_the_log_is_in_words() -> None:
    assert one_card(logged(), GAME).lead == "1 of 1 on choosing (5MP, counter hit) in the quiz."
    assert "press" not in as_text(one_card(logged(), GAME))
    listed = as_text(list_card(Listed((logged(0),), older=False), GAME))
    assert "2 Mar 2026: choosing (5MP, counter hit), 0 of 1 in the quiz" in listed
    assert pick_label(logged()) == ("1/1: choosing (5MP, counter hit)", "quiz, 02 Mar 2026")


def overview(*choosing: Practised, practised: tuple[Practised, ...] = ()) -> str:
    row = Row(1, 1, 1, Standing.KEPT)
    return as_text(overview_card(Overview(GAME, practised, row, row, 0, (), 0.8, choosing=choosing)))


def chosen(landed: int, tries: int, what: str = "5MP, counter hit") -> Practised:
    recent = tell(landed, tries)
    return Practised(replace(CHOICE, what=what), 2, tries, recent, False, 0, NOW.date())


def test_the_overview_has_choosing_in_a_group_of_its_own() -> None:
    text = overview(chosen(18, 20), chosen(1, 1, "2HP, punish"))
    assert text.startswith("Nothing is logged for your hands yet: so far you practise choosing what to do.")
    assert "Choosing (in the quiz, not with your hands)" in text
    assert "5MP, counter hit: right and in time about 90 %; last on 2 Mar 2026." in text
    assert "2HP, punish: too few tries to tell (1 try)" in text
    assert "What do you practise?" not in text


def test_what_the_hands_practise_keeps_its_lines_and_long_lists_are_cut() -> None:
    link = Practised(
        Subject(GAME.name, ODRUN.name, SubjectKind.LINK, "5MP, 2MP"),
        1,
        5,
        TooFew(3, 5, 10),
        False,
        0,
        NOW.date(),
    )
    many = (chosen(1, 1, f"{number}MP, hit") for number in range(8))
    text = overview(*many, practised=(link,))
    assert "5MP, 2MP: too few tries to tell (5 tries)" in text
    assert "4MP, hit" in text
    assert "5MP, hit" not in text
    assert "… and 3 more, practised longer ago." in text
    assert "Choosing" not in overview(practised=(link,))


def test_where_none_works_any_more_no_number_of_working_ones_is_told() -> None:
    broken = Cell(where("hit"), CellState.BROKEN, saved())
    assert sheet_card(sheet(broken)).lead == (
        "You have 1 conversion with Odrun Vale, and none works any more: choose other routes."
    )
