"""Answers as a player reads them: every reason has a sentence, every number its noun and sign."""

from __future__ import annotations

import itertools
import re
import string
import tomllib
from collections.abc import Callable, Iterator
from importlib.resources import files
from pathlib import Path

import pytest
from demo import GAMES, demo

from bot.render.ask import card, text
from bot.render.card import Card, as_text
from bot.render.summary import summary, unknown_numbers
from bot.render.values import KEYS, values
from bot.render.wording import field_name, say, say_reason
from bot.results.ask import Asked, Kind
from bot.services.ask import AskService
from core.blocks import gaps, punish, safe
from core.cancels import cancel
from core.followups import confirm_time
from core.knockdown import meaty, safe_jump
from core.links import link
from core.model import Character, Contact, ContactKind, Game, Means, Move
from core.verdict import Code, Facts, Reason

Services = Callable[[str], AskService]

DATA = Path(__file__).parents[1] / "data"
WORDING = tomllib.loads((files("bot.render") / "wording.toml").read_text("utf-8"))
BLOCK, WHIFF = Contact(ContactKind.BLOCK), Contact(ContactKind.WHIFF)
EMPTY = Game("Empty", "1", 60, (), distance_unit="steps")
LINKED = Facts(
    first="5MP", second="2MP", contact="block", startup_frames=4, advantage_frames=4, window_frames=1
)
RARE = (
    Reason(Code.TRUE_STRING, LINKED),
    Reason(Code.SAME_MOVE, Facts(rule="light chain", first="5LP", second="5LP")),
    Reason(Code.HIT_NOT_CANCELLABLE, Facts(move="5HP", hit=2)),
    Reason(Code.DOWNED_LIMIT, Facts(move="2LK", limit=0)),
    Reason(Code.HITS_DOWNED, Facts(move="2LK", limit=1)),
    Reason(
        Code.PUNISH_OUT_OF_REACH,
        Facts(move="2HK", character="First", advantage_frames=-9, distance=2.5, unit="steps"),
    ),
    Reason(Code.GAUGE_SHORT, Facts(move="236PP", gauge="salt", amount=40, have=12)),
    Reason(Code.DOWNED_USED, Facts(move="2HK", limit=1)),
    Reason(Code.DELAY_TOO_LONG, Facts(first="5MP", second="2MP", delay_frames=4, spare_frames=1)),
    Reason(Code.MOVES_BETWEEN, Facts(move="66", move_frames=19)),
)
"""What these games give no case of, with the facts that the engine gives."""


def engine_reasons(game: Game) -> Iterator[Reason]:
    """Reasons as the engine gives them, over many pairs and contacts of a game."""
    contacts = [
        Contact(),
        BLOCK,
        WHIFF,
        Contact(distance=1.5),
        Contact(distance=9.0),
        Contact(juggle_count=9),
        Contact(came_by=Means.CHAIN, rules_used=tuple(rule.name for rule in game.rules) * 3),
        *(Contact(state=state.name) for state in game.hit_states),
    ]
    for who in game.characters[:2]:
        moves = unlike(who)
        plain = ((pair, contacts[0]) for pair in itertools.product(who.moves, repeat=2))
        others = itertools.product(itertools.product(moves, repeat=2), contacts[1:])
        for (a, b), contact in itertools.chain(plain, others):
            yield from link(game, who, a, b, contact).reasons
            answer = cancel(game, who, a, b, contact)
            yield from (*answer.legal.reasons, *answer.combos.reasons)
        for a, b in itertools.product(moves, repeat=2):
            yield from confirm_time(game, who, a, b, Contact()).reasons
            yield from safe_jump(game, who, a, b, 4, Contact()).reasons
            yield from safe_jump(game, who, a, b, 40, Contact()).reasons
            for delay in (None, 0, 30, 60):
                yield from meaty(game, a, b, Contact(), delay).reasons
            for gap in gaps(game, who, a, b, BLOCK):
                yield from gap.verdict.reasons
        for move, mine, contact in itertools.product(who.moves, game.characters, (BLOCK, contacts[4])):
            far = Contact(ContactKind.BLOCK, distance=contact.distance)
            yield from punish(game, move, mine, far).verdict.reasons
            yield from safe(game, move, far).reasons


def unlike(who: Character) -> list[Move]:
    """The character's moves without those that differ from another in their numbers alone."""
    found: dict[object, Move] = {}
    for move in who.moves:
        effects = (move.on_hit and move.on_hit.effect, *(what.effect for _, what in move.outcomes))
        known = (move.startup_frames, move.recovery_frames, move.on_block, move.reach, move.on_hit)
        shape = (move.kind, move.stance, move.hit_level, move.tags, len(move.hits), move.projectile is None)
        more = (bool(move.costs), bool(move.aliases), move.level, tuple(one is None for one in known))
        safe_enough = move.on_block is not None and move.on_block.low > -4
        found.setdefault((effects, shape, more, safe_enough, move.cancelled_startup_frames is None), move)
    return list(found.values())


@pytest.fixture(scope="module")
def given(trade_game: Game) -> dict[Code, set[Reason]]:
    """The reasons that the engine gives, by code."""
    found = {reason.code: {reason} for reason in RARE}
    for game in (trade_game, *map(demo, GAMES)):
        for reason in engine_reasons(game):
            kept = found.setdefault(reason.code, set())
            if len(kept) < 200:
                kept.add(reason)
    return found


@pytest.mark.parametrize("code", Code)
def test_every_reason_has_a_sentence(code: Code) -> None:
    assert code.value in WORDING["reasons"]


def test_no_sentence_is_for_a_reason_that_does_not_exist() -> None:
    assert set(WORDING["reasons"]) == {code.value for code in Code}


def test_sentences_are_written_with_the_facts_that_the_engine_gives(given: dict[Code, set[Reason]]) -> None:
    assert set(given) == set(Code)
    for reasons in given.values():
        for reason in reasons:
            sentence = say_reason(reason, EMPTY)
            assert not sentence[0].islower() or sentence.startswith("j."), sentence
            assert sentence.endswith(".")
            assert not re.search(r"[{}_]|None|(?<![.\d])1 (frames|steps|moves|attacks)", sentence), sentence
            assert reason.code.value not in sentence or "-" not in reason.code.value


def test_missing_numbers_are_called_by_their_words_not_their_columns() -> None:
    reason = Reason(Code.NUMBER_MISSING, Facts(move="5MP", field="on_block"))
    assert say_reason(reason, EMPTY) == "The game file does not give the advantage on block of 5MP."
    rule = Reason(Code.NUMBER_MISSING, Facts(move="", field="link_frames of [buffers]"))
    assert say_reason(rule, EMPTY) == "The game file does not give the link buffer."
    assert field_name("jump of Ossily Fenn") == "jump of Ossily Fenn"


@pytest.mark.parametrize(("frames", "written"), [(0, "0 frames"), (1, "1 frame"), (2, "2 frames")])
def test_frames_are_counted_in_words(frames: int, written: str) -> None:
    assert say("pieces", "before-free", frames=frames) == f"{written} before you are free again"


@pytest.mark.parametrize(("advantage", "written"), [(4, "+4"), (-3, "-3"), (0, "0")])
def test_advantages_carry_their_sign(advantage: int, written: str) -> None:
    assert say("leads", "safe-yes", move="5LP", advantage=advantage).endswith(f"leaves you {written}.")


@pytest.mark.parametrize("written", ["1st", "2nd", "3rd", "4th", "11th", "22nd", "112th"])
def test_frames_are_numbered_in_words(written: str) -> None:
    assert f"its {written} active" in say("pieces", "on-frame", frame=int(written[:-2]))


def test_a_sentence_without_its_facts_is_an_error() -> None:
    with pytest.raises(KeyError, match="safe-yes"):
        say("leads", "safe-yes", move="5LP")


def test_every_field_of_the_wording_has_a_known_form() -> None:
    forms = {
        "",
        "frames",
        "moves",
        "attacks",
        "hits",
        "are-frames",
        "signed",
        "nth",
        "ms",
        "times",
        "number",
        "a",
        ",",
    }
    for section in WORDING.values():
        for sentences in section.values():
            for sentence in [sentences] if isinstance(sentences, str) else sentences:
                assert {spec for _, field, spec, _ in string.Formatter().parse(sentence) if field} <= forms


LEADS = tomllib.loads((DATA / "leads.toml").read_text("utf-8"))["lead"]


@pytest.mark.parametrize("lead", LEADS, ids=lambda lead: lead["ask"])
def test_the_advice_is_one_plain_sentence_with_the_key_number(
    lead: dict[str, str], service: Services
) -> None:
    assert card(service("trade").ask(lead["ask"], "First")).lead == lead["says"]


def test_a_link_tells_both_numbers_and_when_to_press(service: Services) -> None:
    # 5MP is over after 20 + 10 frames; W = 2 and b = 4: presses on frames 27 to 32, 26 to 31 after frame 1.
    told = text(service("trade").ask("does 5MP link into 2LP", "First"))
    assert "2LP has to start within 2 frames (33 ms) after 5MP is over." in told
    assert "You may press it over 6 frames" in told
    assert "that is 26 to 31 frames after you press 5MP" in told


def test_a_card_has_its_parts_in_order(service: Services) -> None:
    told = text(service("trade").ask("does 5MP link into 2MP", "First"))
    order = ["Yes, ", "How tight is it?", "When do I press?", "Why?", "Trade rules, version 1"]
    places = [told.index(part) for part in order]
    assert places == sorted(places)
    assert told.endswith(order[-1])


def test_a_card_without_groups_and_reasons_is_its_lead_and_source() -> None:
    assert as_text(Card("Yes.", (), (), "Game, version 1")) == "Yes.\n\nGame, version 1"


def test_long_lists_are_cut_and_say_so(service: Services) -> None:
    told = text(service("saltglass").ask("what punishes Garrow's 2HP", "odrun"))
    assert "and 16 more" in told


def test_the_character_that_was_taken_is_said(service: Services) -> None:
    assert "only First has 2HK" in text(service("trade").ask("is 2HK safe"))
    assert "only First" not in text(service("trade").ask("is 2HK safe", "First"))


def test_a_refusal_points_at_the_words(service: Services) -> None:
    told = text(service("trade").ask("does 5MP link into 2MQ", "First"))
    assert "does 5MP link into 2MQ\n                   ^^^" in told


QUESTIONS = {
    Kind.LINK: "does {a} link into {b}",
    Kind.CANCEL: "can I cancel {a} into {b}",
    Kind.COMBO: "does {a} into {b} combo",
    Kind.WINDOW: "window from {a} to {b}",
    Kind.GAP: "gap between {a} and {b}",
    Kind.CONFIRM: "how long to confirm {a} into {b}",
    Kind.MEATY: "is {b} meaty after {a}",
    Kind.SAFE_JUMP: "is {b} a safe jump after {a}",
    Kind.LINKS_AFTER: "what links after {a}",
    Kind.CANCELS_AFTER: "what cancels after {a}",
    Kind.FOLLOW_UPS: "what can I do after {a}",
    Kind.LEARN: "what should I learn from {a}",
    Kind.SAFE: "is {a} safe",
    Kind.MOVE: "tell me about {a}",
    Kind.PUNISH: "what punishes {who}'s {a}",
    Kind.PLUS: "is {a} plus",
    Kind.EARLY: "why did {b} not come out after {a}",
    Kind.LATE: "{b} came out but they blocked after {a}",
}


@pytest.mark.parametrize("game", GAMES)
@pytest.mark.parametrize("kind", Kind)
def test_every_kind_of_answer_is_written_for_all_kinds_of_moves(
    game: str, kind: Kind, service: Services
) -> None:
    ask = service(game)
    who = ask.game.characters[1]
    pairs = itertools.product(who.moves[::7], repeat=2)
    alone = [(move, move) for move in unlike(who)]
    for a, b in pairs if "{b}" in QUESTIONS[kind] else alone:
        for contact in ("", " on block", " on whiff", " on counter hit"):
            question = QUESTIONS[kind].format(a=a.input, b=b.input, who=who.name)
            result = ask.ask(question + contact, who.name)
            if not isinstance(result, Asked):
                assert contact, (question, result)
                continue
            assert result.kind is kind
            told = text(result)
            assert not re.search(r"[{}_]|None|(?<![.\d])1 (frames|steps|moves|attacks)|  \.", told), told
            assert set(values(result)) == {key for keys in KEYS for key in keys.split(", ")}


def test_a_summary_counts_what_is_left_out(trade_game: Game) -> None:
    told = summary(trade_game)
    assert told.startswith("Trade rules, version 1: no problems.")
    assert "First: 13 moves" in told
    unknown = unknown_numbers(trade_game)
    assert unknown["reach"] == 17
    assert unknown["jump of First"] == 0
    assert "startup" not in unknown


def test_a_cancel_that_may_combo_is_not_listed_with_those_that_do_not(service: Services) -> None:
    # The game file leaves out the hitstun of the first hit of 5HK, out of which it is cancelled.
    told = text(service("saltglass").ask("what cancels after ninnet's 5HK"))
    assert "does not combo?" not in told
    assert "the game file leaves a number out" in told


def test_links_after_a_jump_are_said_to_depend_on_height(service: Services) -> None:
    told = text(service("saltglass").ask("what links after odrun's j.HP"))
    assert "it depends on the height of contact" in told


def test_what_is_not_known_is_counted_apart_in_the_advice(service: Services) -> None:
    lead = card(service("saltglass").ask("what cancels after ninnet's 5HK")).lead
    assert lead.endswith("0 of them surely combo, for 14 it is not known.")
