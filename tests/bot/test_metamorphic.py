"""The same meaning gets the same answer and another meaning another, over words that no list holds."""

from __future__ import annotations

import csv
import itertools
from collections.abc import Callable
from importlib.resources import files

import pytest
from demo import GAMES

from bot.results.ask import Asked, Kind
from bot.services.ask import AskService
from core.model import Character, Move, MoveKind
from core.verdict import Answer

Services = Callable[[str], AskService]

SPOKEN = {"5LP": "standing light punch", "2MP": "crouching medium punch", "5HK": "st.HK", "2LK": "c.LK"}
KEYWORDS = ("link", "window", "cancel", "punish", "block", "counter", "safe", "combo", "between", "does")


def meaning(result: object) -> tuple[object, ...]:
    assert isinstance(result, Asked), result
    inputs = tuple(move.input for move in result.moves)
    return result.kind, result.character.name, inputs, result.contact, result.answer, result.detail


def grounded(who: Character) -> list[Move]:
    return [move for move in who.moves if move.kind is MoveKind.NORMAL and not move.input.startswith("j.")]


def cells(game: str, character: str) -> dict[str, dict[str, str]]:
    """The game file's own cells, read without the program."""
    text = (files("bot.games") / game / f"{character}.csv").read_text("utf-8")
    return {row["input"]: row for row in csv.DictReader(text.splitlines())}


def signed_number(cell: str) -> int | None:
    return int(cell) if cell.lstrip("+-").isdigit() else None


@pytest.mark.parametrize(
    ("game", "character"), [("saltglass", "odrun"), ("saltglass", "garrow"), ("kitewind", "dapple")]
)
def test_answers_agree_with_arithmetic_on_the_file_s_own_cells(
    game: str, character: str, service: Services
) -> None:
    rows, ask = cells(game, character), service(game).ask
    normals = [row for name, row in rows.items() if name[0] in "2356" and name[1:].isalpha()]
    known = [row for row in normals if signed_number(row["on_hit"]) is not None and row["startup"]]
    bonus = 3 if game == "kitewind" else 2
    for a, b in itertools.product(known[::2], known[::3]):
        window = int(a["on_hit"]) - int(b["startup"]) + 1
        own_counter = a.get("on_counter_hit") or "(" in a["active"]  # the bonus is the first hit's alone
        for on, extra in (("", 0), *([] if own_counter else [(" on counter hit", bonus)])):
            asked = ask(f"does {a['input']} link into {b['input']}{on}?", character)
            assert isinstance(asked, Asked)
            assert (asked.answer is Answer.YES) == (window + extra > 0), (a["input"], b["input"], on)
    for row in known:
        for on, cell in (("hit", row["on_hit"]), ("block", row["on_block"])):
            if (number := signed_number(cell)) is not None:
                asked = ask(f"is {row['input']} plus on {on}", character)
                assert isinstance(asked, Asked)
                assert (asked.answer is Answer.YES) == (number > 0)


@pytest.mark.parametrize("game", GAMES)
def test_the_character_may_be_named_first_last_or_beforehand(game: str, service: Services) -> None:
    ask = service(game).ask
    for who in service(game).game.characters:
        name = who.aliases[0]
        for a, b in itertools.product(grounded(who)[::5], grounded(who)[::4]):
            plain = f"does {a.input} link into {b.input}"
            wanted = meaning(ask(plain, name))
            for said in (
                f"{name}: {plain}",
                f"{plain}, {name}?",
                f"as {name.upper()}, {plain}",
                f"does {name}'s {a.input} link into {b.input}",
                f"i play {name}, {plain}",
                f"{plain} with {name}",
            ):
                assert meaning(ask(said)) == wanted, said


@pytest.mark.parametrize("game", GAMES)
def test_names_and_numpad_mean_the_same(game: str, service: Services) -> None:
    ask = service(game).ask
    for who in service(game).game.characters:
        for a, b in itertools.product(grounded(who)[::4], grounded(who)[::3]):
            by_input = ask(f"can I cancel {a.input} into {b.input} on block", who.name)
            by_name = ask(f"can I cancel {a.name} into {b.name.upper()} on block", who.name)
            assert meaning(by_input) == meaning(by_name)


def test_numpad_and_spoken_words_mean_the_same(service: Services) -> None:
    ask = service("saltglass").ask
    for (a, spoken_a), (b, spoken_b) in itertools.product(SPOKEN.items(), repeat=2):
        wanted = meaning(ask(f"does {a} link into {b}", "odrun"))
        assert meaning(ask(f"does {spoken_a} link into {spoken_b}", "odrun")) == wanted


def slips(word: str) -> list[str]:
    """The word with one letter left out, doubled or exchanged with the next."""
    inner = range(1, len(word) - 1)
    left_out = [word[:i] + word[i + 1 :] for i in inner]
    doubled = [word[:i] + word[i] + word[i:] for i in inner]
    swapped = [word[:i] + word[i + 1] + word[i] + word[i + 2 :] for i in inner]
    return [slip for slip in (*left_out, *doubled, *swapped) if slip != word]


@pytest.mark.parametrize(
    "question",
    [
        "does 5MP link into 2MP on block",
        "window between 5MP and 2MP",
        "can i cancel 5MP into 236HP on counter hit",
        "what can punish garrow's 2HP",
        "is 2HK safe",
        "is 5MP into 2MP a combo",
    ],
)
def test_one_slip_in_a_keyword_changes_nothing(question: str, service: Services) -> None:
    ask = service("saltglass").ask
    wanted = meaning(ask(question, "odrun"))
    tried = 0
    for word in (word for word in KEYWORDS if word in question.split()):
        for slip in slips(word):
            result = ask(" ".join(slip if one == word else one for one in question.split()), "odrun")
            assert meaning(result) == wanted, slip
            tried += 1
    assert tried >= 4


@pytest.mark.parametrize("game", GAMES)
def test_one_slip_in_a_name_is_the_same_move_or_asked_back(game: str, service: Services) -> None:
    """Never another move."""
    ask = service(game).ask
    who = service(game).game.characters[0]
    mended = total = 0
    for move in grounded(who):
        wanted = meaning(ask(f"is {move.name} safe", who.name))
        for slip in slips(move.name.replace(" ", "_"))[::3]:
            result = ask(f"is {slip.replace('_', ' ')} safe", who.name)
            total += 1
            if isinstance(result, Asked):
                assert meaning(result) == wanted, slip
                mended += 1
    assert mended > total / 2


@pytest.mark.parametrize("game", GAMES)
def test_other_moves_get_another_answer(game: str, service: Services) -> None:
    ask = service(game).ask
    for who in service(game).game.characters:
        moves = grounded(who)
        answers = {meaning(ask(f"does {moves[0].input} link into {b.input}", who.name)) for b in moves}
        assert len(answers) == len(moves)


@pytest.mark.parametrize(
    ("one", "another"),
    [
        ("is 5HP plus on hit", "is 5HP plus on block"),
        ("does 5MP link into 2MP", "does 5MP link into 2MP on counter hit"),
        ("does 5MP link into 2MP", "does 2MP link into 5MP"),
        ("does 5MP link into 2MP", "how big is the window from 5MP to 2MP"),
        ("what punishes Odrun's 2HK", "is 2HK safe"),
        ("why did 2MP not come out after 5MP", "2MP came out but they blocked after 5MP"),
        ("can I cancel 5MP into a special", "can I cancel 5MP into a super"),
        ("gap between 5MP and 2MP", "gap between 5MP and 2MP 2 frames late"),
    ],
)
def test_another_meaning_gets_another_answer(one: str, another: str, service: Services) -> None:
    ask = service("saltglass").ask
    assert meaning(ask(one, "odrun")) != meaning(ask(another, "odrun"))


def test_the_kind_of_an_answer_follows_the_words_not_the_moves(service: Services) -> None:
    ask = service("saltglass").ask
    for a, b in itertools.permutations(("5LP", "2MP", "5HK"), 2):
        kinds = [
            meaning(ask(words.format(a=a, b=b), "odrun"))[0]
            for words in ("does {a} link into {b}", "gap between {a} and {b}", "how fast is {a}")
        ]
        assert kinds == [Kind.LINK, Kind.GAP, Kind.MOVE]
