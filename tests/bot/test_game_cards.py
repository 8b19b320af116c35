"""What the cards about a server's games say: files that were sent, versions, refusals, wrong numbers."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest
from demo import demo

from bot.limits import CHOICE_CHARACTERS
from bot.render.card import Card, as_text
from bot.render.game_changes import change_lines, shown_changes
from bot.render.game_desk import (
    ask_back_card,
    changed_card,
    column_option,
    edition_option,
    editions_card,
    game_refusal_card,
    games_card,
)
from bot.render.game_reports import accepted_words, decided_card, dismissed_words, reports_card
from bot.render.game_uploads import NEEDED, preview_card, problems_text
from bot.results.files import ColumnGuess, TableNote
from bot.results.games import (
    Contents,
    Edition,
    EditionChange,
    EditionList,
    GameRefusal,
    GameRefusalCode,
    Preview,
    Report,
    ReportList,
    ReportStage,
)
from bot.results.place import DIRECT_MESSAGES, Owner
from core.gamefile import Problem
from core.model import Game
from core.patches import compare
from core.verdict import Facts

GAME = demo("saltglass")
NOW = datetime(2026, 3, 2, 18, tzinfo=UTC)
NAMES = {1: "Ann", 2: "Bo"}
WHERE: dict[str, Any] = {"character": "Odrun Vale", "move": "5MP", "column": "on_block"}
FACTS: dict[GameRefusalCode, list[dict[str, Any]]] = {
    GameRefusalCode.NO_SERVER: [{}],
    GameRefusalCode.NO_SUCH_VERSION: [{"typed": "9.9"}, {"typed": ""}],
    GameRefusalCode.ONE_VERSION: [{"version": "1.2"}],
    GameRefusalCode.NO_SUCH_UPLOAD: [{}],
    GameRefusalCode.NOT_READABLE: [{"count": 3}],
    GameRefusalCode.NOTHING_NEW: [{"version": "1.2"}],
    GameRefusalCode.IS_CURRENT: [{"version": "1.2"}],
    GameRefusalCode.BAD_COLUMN_LINE: [{"typed": "x", "line": 2}],
    GameRefusalCode.NO_SUCH_HEADER: [{"typed": "x", "near": "y"}, {"typed": "x", "near": ""}],
    GameRefusalCode.NO_SUCH_COLUMN: [{"typed": "x", "near": "y"}, {"typed": "x", "near": ""}],
    GameRefusalCode.NO_SUCH_CHARACTER: [{"typed": "x", "near": "y"}, {"typed": "x", "near": ""}],
    GameRefusalCode.NO_SUCH_MOVE: [
        {"typed": "x", "character": who, "near": near} for who in ("Odrun Vale", "") for near in ("5MP", "")
    ],
    GameRefusalCode.WHICH_CHARACTER: [{"typed": "5MP", "names": "Odrun Vale, Mirrel Quay"}],
    GameRefusalCode.WHICH_MOVE: [{"typed": "p", "character": "Odrun Vale", "names": "5MP, 2MP"}],
    GameRefusalCode.WRONG_NUMBER: [{**WHERE, "typed": "x", "wrong": "“x” is no number", "right": "write 5"}],
    GameRefusalCode.SAME_NUMBER: [{**WHERE, "number": "+2"}, {**WHERE, "number": ""}],
    GameRefusalCode.TEXT_TOO_LONG: [{"most": 200}],
    GameRefusalCode.TOO_MANY_GAMES: [{"most": 10}],
    GameRefusalCode.TOO_MANY_VERSIONS: [{"most": 200}],
    GameRefusalCode.TOO_MANY_REPORTS: [{"most": 5}],
    GameRefusalCode.NO_SUCH_REPORT: [{}],
    GameRefusalCode.CHANGED_MEANWHILE: [
        {**WHERE, "found": "+2", "now": "+1"},
        {**WHERE, "found": "", "now": "+1"},
        {**WHERE, "found": "+2", "now": ""},
    ],
}
"""What each refusal is given, as `GameRefusalCode` says it."""
EDITION = Edition(7, 3, GAME.name, "1.3", 1, NOW, "the spring patch")
HOSTS = Edition(1, DIRECT_MESSAGES, GAME.name, "1.2", None, NOW, "")
REPORT = Report(
    4,
    Owner(3, 1),
    GAME.name,
    "1.2",
    "Odrun Vale",
    "5MP",
    "on_block",
    "+2",
    "+1",
    "on video",
    NOW,
    ReportStage.OPEN,
)


def changed(game: Game, input: str = "5MP", version: str = "1.3", **fields: Any) -> Game:
    """The game with other numbers in a move of its first character."""
    who, *others = game.characters
    moves = tuple(replace(one, **fields) if one.input == input else one for one in who.moves)
    return replace(game, version=version, characters=(replace(who, moves=moves), *others))


def without(game: Game, *inputs: str) -> Game:
    """The game without these moves of its first character."""
    who, *others = game.characters
    kept = tuple(one for one in who.moves if one.input not in inputs)
    return replace(game, version="1.3", characters=(replace(who, moves=kept), *others))


NEW = changed(GAME, startup_frames=5)
CHANGE = EditionChange(EDITION, NEW, 1, GAME, compare(GAME, NEW))
PREVIEW = Preview(
    GAME,
    5,
    columns=tuple(ColumnGuess("moves.csv", one, one, True) for one in NEEDED),
    notes=(TableNote("moves.csv", "UTF-8", ",", 158),),
    name=GAME.name,
    says="1.3",
    label="1.3",
    game=NEW,
    contents=Contents(4, 151, 5),
    before=GAME,
    patch=CHANGE.patch,
)


def lines_of(card: Card, question: str) -> tuple[str, ...]:
    """The lines under a question; none where it is not asked."""
    return next((group.lines for group in card.groups if group.question == question), ())


def test_every_refusal_has_its_facts_here() -> None:
    assert set(FACTS) == set(GameRefusalCode)


@pytest.mark.parametrize(
    ("code", "facts"), [(code, facts) for code, each in FACTS.items() for facts in each], ids=str
)
def test_a_refusal_is_one_sentence_that_leaves_nothing_open(
    code: GameRefusalCode, facts: dict[str, Any]
) -> None:
    said = game_refusal_card(GameRefusal(GAME, code, Facts(**facts))).lead
    assert said[0].isupper() or said[0] in "“0123456789"
    assert said.endswith((".", "?", "”."))
    assert "{" not in said
    assert "  " not in said
    assert "““" not in said
    assert "is ." not in said
    assert "on_block of" not in said
    assert "the on_block" not in said


def test_a_preview_says_first_what_the_files_are_then_what_they_change() -> None:
    card = preview_card(PREVIEW)
    assert card.lead == "Saltglass, version 1.3, can be used in place of version 1.2."
    assert [group.question for group in card.groups] == [
        "What is in it?",
        "What would change?",
        "What now?",
    ]
    assert lines_of(card, "What would change?") == ("Odrun Vale's 5MP: startup is 5, was 6.",)


def test_columns_are_told_only_where_somebody_should_look() -> None:
    guesses = (
        *PREVIEW.columns,
        ColumnGuess("moves.csv", "Hitz", "damage", False),
        ColumnGuess("moves.csv", "Notes", None, True),
    )
    card = preview_card(replace(PREVIEW, columns=guesses))
    assert lines_of(card, "How were the columns read?") == (
        "moves.csv: I took “Hitz” for damage.",
        "moves.csv: I left out “Notes”.",
    )
    assert "“Columns” sets it right" in as_text(card)
    many = tuple(ColumnGuess("moves.csv", f"c{number}", None, False) for number in range(90))
    shown = lines_of(preview_card(replace(PREVIEW, columns=many)), "How were the columns read?")
    assert shown[0].startswith("moves.csv: I left out “c0”, “c1”, ")
    assert shown[0].endswith("“c7” and 82 more.")
    assert len(shown) == 2, "and what it lacks"


def test_a_sheet_without_what_most_questions_need_is_told_of() -> None:
    few = (
        ColumnGuess("wick.csv", "Start-up", "startup", True),
        ColumnGuess("wick.csv", "total", "total", True),
    )
    shown = lines_of(preview_card(replace(PREVIEW, columns=few)), "How were the columns read?")
    assert shown == (
        "wick.csv has no column for active, on_hit, on_block: what needs it is answered with “not known”.",
    )


def test_eight_problems_stand_on_the_card_and_all_of_them_in_the_file() -> None:
    problems = tuple(
        Problem("moves.csv", "", f"row {row}", "startup", f"“x{row}” is no number", "write 5")
        for row in range(12)
    )
    wrong = Preview(GAME, 5, problems=problems, columns=PREVIEW.columns)
    card = preview_card(wrong)
    assert card.lead == "These files cannot be used yet: 12 things are wrong in them."
    shown = lines_of(card, "What is wrong?")
    assert shown[0] == "moves.csv, row 0, startup: “x0” is no number; write 5."
    assert (len(shown), shown[-1]) == (9, "All 12 are in problems.txt.")
    text = problems_text(wrong)
    assert text is not None
    assert len(text.decode().splitlines()) == 12
    assert problems_text(replace(wrong, problems=problems[:8])) is None


def test_the_same_mistake_in_many_rows_is_told_in_one_line() -> None:
    problems = [Problem("wick.csv", "", f"row {row}", "", "has 1 cell", "give 9") for row in range(2, 14)]
    shown = lines_of(preview_card(Preview(GAME, 5, problems=tuple(problems[:3]))), "What is wrong?")
    assert shown == ("wick.csv, row 2, row 3, row 4: has 1 cell; give 9.",)
    shown = lines_of(preview_card(Preview(GAME, 5, problems=tuple(problems))), "What is wrong?")
    assert shown[0].endswith("row 8, row 9 and 4 more: has 1 cell; give 9.")
    assert shown[1:] == ("All 12 are in problems.txt.",)


def test_a_version_that_gets_another_name_is_told_why() -> None:
    card = preview_card(replace(PREVIEW, says="1.2", label="1.2 (2)"))
    assert "The file calls itself 1.2" in as_text(card)
    assert "1.2 (2)" in card.lead


def test_sheets_without_rules_are_said_to_be_moves_of_the_game_that_is_there() -> None:
    told = as_text(preview_card(replace(PREVIEW, says="1.2", label="1.2 (2)", moves_only=True)))
    assert "No game.toml was sent: these are moves for Saltglass, whose rules stay" in told
    assert "Version 1.2 has other numbers, so this becomes 1.2 (2)." in told
    assert "calls itself" not in told


def test_files_that_can_be_read_but_not_used_say_why() -> None:
    refusal = GameRefusal(GAME, GameRefusalCode.TOO_MANY_VERSIONS, Facts(most=200))
    card = preview_card(replace(PREVIEW, refusal=refusal))
    assert card.lead == "200 versions of this game are kept here, which is as many as I keep."
    assert "“Use it”" not in as_text(card)


def test_a_new_game_is_told_as_one() -> None:
    card = preview_card(replace(PREVIEW, name="Tideglass", before=None, patch=None))
    assert card.lead == "Tideglass, version 1.3, can be used: a new game for this server."
    assert not lines_of(card, "What would change?")


def test_what_changed_is_told_line_by_line_the_largest_first() -> None:
    new = without(changed(GAME, "5HP", startup_frames=11), "5LP")
    assert change_lines(compare(GAME, new), GAME.name) == (
        "Odrun Vale: 5LP (wick pinch) is gone.",
        "Odrun Vale's 5HP: startup is 11, was 10.",
    )
    assert change_lines(compare(new, GAME), GAME.name) == (
        "Odrun Vale: 5LP (wick pinch) is new.",
        "Odrun Vale's 5HP: startup is 10, was 11.",
    )


def test_a_number_that_came_or_went_says_so() -> None:
    bare = changed(GAME, reach=None)
    assert change_lines(compare(GAME, bare), GAME.name) == (
        "Odrun Vale's 5MP: reach is not given any more, was 1.3.",
    )
    assert change_lines(compare(bare, GAME), GAME.name) == ("Odrun Vale's 5MP: reach is 1.3, was not given.",)


def test_characters_that_came_or_went_come_first() -> None:
    fewer = replace(GAME, version="1.3", characters=GAME.characters[1:])
    assert change_lines(compare(GAME, fewer), GAME.name) == ("Odrun Vale is gone.",)
    assert change_lines(compare(fewer, GAME), GAME.name)[0] == "Odrun Vale is new."


def test_a_rule_that_changed_is_named() -> None:
    rule, *others = GAME.rules
    new = replace(GAME, version="1.3", rules=tuple(others))
    assert change_lines(compare(GAME, new), GAME.name) == (f"The rule “{rule.name}” is gone.",)


def test_a_change_of_words_alone_is_told_in_one_line() -> None:
    order = replace(GAME, version="1.3", characters=GAME.characters[::-1])
    assert change_lines(compare(GAME, order), GAME.name) == ("Names, words or the order of moves differ.",)
    assert change_lines(compare(GAME, replace(GAME, version="1.3")), GAME.name) == ()


def test_many_changes_are_cut_and_counted() -> None:
    who = GAME.characters[0]
    patch = compare(GAME, without(GAME, *(one.input for one in who.moves[:30])))
    every, shown = change_lines(patch, GAME.name), shown_changes(patch, GAME.name, 8)
    assert shown == (*every[:8], "… and 22 more changes.")
    assert shown_changes(patch, GAME.name, 29) == every
    told = lines_of(preview_card(replace(PREVIEW, patch=patch)), "What would change?")
    assert told == ("In all: 30 moves gone.", *shown)


def test_one_number_that_changed_is_the_lead_itself() -> None:
    card = changed_card(CHANGE, 0)
    assert card.lead.startswith("Odrun Vale's 5MP: startup is 5, was 6. That is version 1.3 of Saltglass")
    assert not lines_of(card, "What changed?")


def test_who_is_told_is_said_where_somebody_is() -> None:
    assert "One member, whose saved route" in as_text(changed_card(CHANGE, 1))
    assert "3 members, whose saved routes" in as_text(changed_card(CHANGE, 3))
    assert "told" not in as_text(changed_card(CHANGE, 0)).replace("tells", "")


def test_what_was_done_before_says_so_and_no_more() -> None:
    card = changed_card(replace(CHANGE, before=None, before_id=None, patch=None, again=True), 0)
    assert card.lead == "That was done already: Saltglass is at version 1.3."
    assert card.groups == ()


def test_versions_say_who_when_and_why_also_of_those_who_left() -> None:
    gone = replace(EDITION, id=6, version="1.2 (2)", made_by=None, reason="")
    card = editions_card(EditionList(NEW, (EDITION, gone, HOSTS), 7, False), NAMES, UTC)
    assert lines_of(card, "Which versions are kept?") == (
        "1.3, which is used now: from Ann, 2 Mar 2026, “the spring patch”.",
        "1.2 (2): from someone who left, 2 Mar 2026.",
        "1.2: came with the bot, 2 Mar 2026.",
    )
    long = replace(EDITION, reason="x" * 200)
    assert len(edition_option(long, False, NAMES, UTC)) <= CHOICE_CHARACTERS


def test_going_back_says_what_it_changes_before_it_is_done() -> None:
    card = ask_back_card(HOSTS, NEW, compare(NEW, GAME))
    assert lines_of(card, "What would change?") == ("Odrun Vale's 5MP: startup is 6, was 5.",)


def test_a_channels_own_game_is_told_beside_the_servers() -> None:
    other = demo("kitewind")
    assert "This channel asks about Kitewind, the rest of the server about Saltglass." in as_text(
        games_card(GAME, other, None, ())
    )
    assert "alone asks" not in as_text(games_card(GAME, GAME, None, ()))
    assert games_card(GAME, other, "talk", ()).lead == "#talk asks about Kitewind."


def test_a_column_is_offered_by_its_name_and_in_words() -> None:
    assert column_option("startup") == "startup"
    assert column_option("on_block") == "on_block: advantage on block"


def test_reports_name_the_number_both_ways_and_who_says_so() -> None:
    card = reports_card(ReportList(GAME, (REPORT, replace(REPORT, found="", note="")), 3), NAMES, UTC)
    assert card.lead == "5 numbers are said to be wrong."
    first, second, more = lines_of(card, "Which ones?")
    assert first.startswith("1. Odrun Vale's 5MP, advantage on block: +1, not +2, says Ann, 2 Mar 2026")
    assert first.endswith(" (Saltglass 1.2): “on video”")
    assert "+1, where nothing is given now, says Ann" in second
    assert more == "… and 3 more after these."


def test_who_decides_on_a_report_of_their_own_is_not_told_that_they_are_told() -> None:
    assert accepted_words(REPORT, CHANGE, NAMES, Owner(3, 2)).endswith("version 1.3 on, and Ann is told.")
    assert accepted_words(REPORT, CHANGE, NAMES, REPORT.member).endswith("version 1.3 on.")
    assert dismissed_words(REPORT, NAMES, Owner(3, 2)).endswith("does not become +1, and Ann is told.")
    assert dismissed_words(REPORT, NAMES, REPORT.member).endswith("does not become +1.")


@pytest.mark.parametrize(
    ("stage", "said"),
    [
        (
            ReportStage.ACCEPTED,
            "was accepted: in Saltglass, advantage on block of Odrun Vale's 5MP is +1 now.",
        ),
        (
            ReportStage.DISMISSED,
            "was looked at: in Saltglass, advantage on block of Odrun Vale's 5MP does not become +1.",
        ),
    ],
)
def test_who_reported_is_told_what_was_decided(stage: ReportStage, said: str) -> None:
    assert decided_card(replace(REPORT, stage=stage), GAME).lead.endswith(said)
