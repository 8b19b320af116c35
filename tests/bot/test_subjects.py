"""What is practised, as members type it and as it is stored."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from builders import game_of, row
from demo import GAMES, demo
from hypothesis import given
from hypothesis import strategies as st
from inline import HERE, MIRREL, ODRUN, HandClock, desk_with

from bot.results.log import LogRefusal, LogRefusalCode
from bot.results.tally import WHAT_CHARACTERS, MemberSettings, SavedRoute, ServerSettings, Setup, SubjectKind
from bot.services.desk import AskDesk
from bot.services.settings import SettingsBook
from bot.services.subjects import Found, found_of, read_subject, saved_as, typed_as, windows_of
from bot.storage.store import Store
from core.model import Game, Means
from core.timing import Window
from core.verdict import Answer, Code, Verdict

NOW = datetime(2026, 1, 7, 20, 15, tzinfo=UTC)
NOBODY = replace(HERE, member_id=101)
"""Somebody who chose no character; whoever speaks in HERE plays Odrun."""
SIMPLE = replace(HERE, member_id=102)
"""Somebody who plays Odrun under the scheme in which a special is one button."""


def desk_of(**games: Game) -> AskDesk:
    """A desk whose settings are held and never stored."""
    clock = HandClock(NOW)
    store = Store(Path("never opened"))
    book = SettingsBook(store, clock)
    book.hold(HERE.owner, MemberSettings(ODRUN))
    book.hold(SIMPLE.owner, MemberSettings(ODRUN, setup=Setup(controls="one-button")))
    return desk_with(store, clock, book, games)


DESK = desk_of(**{name: demo(name) for name in GAMES})


def found(result: Found | LogRefusal) -> Found:
    assert isinstance(result, Found), result
    return result


def refused(result: Found | LogRefusal) -> LogRefusal:
    assert isinstance(result, LogRefusal), result
    return result


def route(name: str, notation: str, character: str = ODRUN) -> SavedRoute:
    return SavedRoute(1, "Saltglass", "1.0", character, name, notation, NOW)


SAVED = (
    route("Bread", "5MP, 2MP xx 236HP"),
    route("shared", "5MP, 2MP"),
    route("Shared", "5MP, 2MP", MIRREL),
)

SPELLINGS = {
    "5MP, 2MP": [
        "5MP, 2MP", "5mp,2mp", "5MP > 2MP", "5MP -> 2MP", "5MP into 2MP", "5MP, then 2MP", "mp; cr.mp",
        "stand MP > crouching MP", "lamp swing, basket poke", "５ＭＰ， ２ＭＰ",
        "Odrun's 5MP, 2MP", "odrun’s 5MP > 2MP", "Odrun: 5MP, 2MP", "ODRUN VALE: mp, 2mp", "  5MP \n , 2MP ",
    ],
    "2MP xx 236HP": ["2MP xx 236HP", "2MP > 236HP", "2mpxx236hp", "2MP into qcf HP", "2MP > long lamp toss"],
    "5MP, 2MP xx 236HP": ["5MP, 2MP xx 236HP", "5MP > 2MP > 236HP", "bread", " BREAD ", "Odrun: bread"],
    "counter hit 5HP, 2MP": ["CH 5HP, 2MP", "counter 5HP, cr.MP"],
    "5LP ~ 5LP ~ 5LP": ["5LPx3", "5LP ~ 5LP ~ 5LP", "5LP > 5LP > 5LP"],
}  # fmt: skip


@pytest.mark.parametrize(
    ("what", "typed"), [(what, one) for what, every in SPELLINGS.items() for one in every]
)
def test_the_same_thing_typed_in_any_way_is_one_subject(what: str, typed: str) -> None:
    subject = found(read_subject(DESK, HERE, typed, SAVED)).subject
    assert (subject.game, subject.character, subject.what) == ("Saltglass", ODRUN, what)


@pytest.mark.parametrize(
    ("typed", "kind"),
    [
        ("5MP, 2MP", SubjectKind.LINK),
        ("5MP > 2MP", SubjectKind.LINK),
        ("5MP xx 2MP", SubjectKind.LINK),  # only a link makes it combo, whatever was written
        ("5MP, 236HP", SubjectKind.LINK),  # it is meant as one, even where a cancel would do
        ("5MP > 236HP", SubjectKind.ROUTE),
        ("5LP ~ 5LP", SubjectKind.ROUTE),
        ("5MP, 2MP, 2LP", SubjectKind.ROUTE),
        ("5HP > 5HP", SubjectKind.ROUTE),  # nothing makes it combo
        ("drill: block, then punish", SubjectKind.DRILL),
    ],
)
def test_two_moves_that_link_are_a_link_and_other_moves_a_route(typed: str, kind: SubjectKind) -> None:
    assert found(read_subject(DESK, HERE, typed)).subject.kind is kind


REFUSALS = [
    (HERE, "5MP", LogRefusalCode.NO_SUCH_WHAT, "drill:"),
    (NOBODY, "5MP", LogRefusalCode.NO_SUCH_WHAT, "drill:"),
    (HERE, "", LogRefusalCode.NO_SUCH_WHAT, "empty"),
    (HERE, "5MP,", LogRefusalCode.NO_SUCH_WHAT, "missing after"),
    (HERE, "5MP, 5QQ", LogRefusalCode.NO_SUCH_WHAT, "QQ"),
    (NOBODY, "5MP, 5QQ", LogRefusalCode.NO_SUCH_WHAT, "QQ"),
    (HERE, "HP, 236P", LogRefusalCode.NO_SUCH_WHAT, "could be"),
    (HERE, "5MP: 2MP", LogRefusalCode.NO_SUCH_WHAT, "not understood"),
    (HERE, "drill:", LogRefusalCode.NO_SUCH_WHAT, "Words"),
    (HERE, "Garrow: bread", LogRefusalCode.NO_SUCH_WHAT, "bread"),
    (NOBODY, "5MP, 2MP", LogRefusalCode.WHOSE, None),
    (NOBODY, "shared", LogRefusalCode.WHOSE, None),
    (HERE, "Odrin's 5MP, 2MP", LogRefusalCode.UNKNOWN_CHARACTER, None),
    (NOBODY, "Odrin: 5MP, 2MP", LogRefusalCode.UNKNOWN_CHARACTER, None),
    (HERE, "5MP, " * 200, LogRefusalCode.TOO_LONG, None),
    (HERE, "drill: " + "a" * (WHAT_CHARACTERS + 1), LogRefusalCode.TOO_LONG, None),
    (HERE, ", ".join(["5MP"] * 30), LogRefusalCode.TOO_LONG, None),
]


@pytest.mark.parametrize(("place", "typed", "code", "says"), REFUSALS)
def test_what_cannot_be_practised_is_refused_with_the_reason(
    place: object, typed: str, code: LogRefusalCode, says: str | None
) -> None:
    refusal = refused(read_subject(DESK, place, typed, SAVED))  # type: ignore[arg-type]
    assert refusal.code is code
    if says is not None:
        assert says in str(refusal.facts["problem"])


def test_an_unknown_name_before_moves_is_answered_with_the_nearest() -> None:
    assert refused(read_subject(DESK, HERE, "Odrin's 5MP, 2MP")).facts["near"] == ODRUN


def test_whose_moves_it_could_be_is_named() -> None:
    names = str(refused(read_subject(DESK, NOBODY, "5MP, 2MP")).facts["names"]).split(", ")
    assert names == [who.name for who in demo("saltglass").characters]


def test_moves_that_only_one_character_has_need_no_owner() -> None:
    assert found(read_subject(DESK, NOBODY, "launcher xx long lamp toss")).subject.character == ODRUN


def test_the_owner_in_front_goes_before_the_member_s_own_character() -> None:
    subject = found(read_subject(DESK, HERE, "Mirrel's 5MP, 2MP")).subject
    assert (subject.character, subject.what) == (MIRREL, "5MP, 2MP")


def test_a_hit_state_with_a_colon_is_no_owner() -> None:
    assert found(read_subject(DESK, HERE, "CH: 5HP, 2MP")).subject.what == "counter hit 5HP, 2MP"


def test_a_saved_name_goes_before_moves_and_is_the_own_character_s_where_several_have_it() -> None:
    named = (*SAVED, route("5MP, 2MP", "2LP, 2LP"))
    assert found(read_subject(DESK, HERE, "5mp, 2mp", named)).subject.what == "2LP, 2LP"
    assert found(read_subject(DESK, HERE, "SHARED", named)).subject.character == ODRUN
    assert found(read_subject(DESK, NOBODY, "Mirrel: shared", named)).subject.character == MIRREL
    assert saved_as(named, "nothing so called", demo("saltglass"), None) == ()


def test_a_saved_route_whose_moves_are_gone_is_refused() -> None:
    gone = (route("old", "5MP, 9ZZ"), route("older", "5MP, 2MP", "Nobody Now"))
    assert refused(read_subject(DESK, HERE, "old", gone)).code is LogRefusalCode.NO_SUCH_WHAT
    assert "Nobody Now" in str(refused(read_subject(DESK, HERE, "older", gone)).facts["problem"])


def test_a_drill_is_named_with_its_mark_once_and_then_by_its_words() -> None:
    new = found(read_subject(DESK, HERE, "Drill:  Block,  then\npunish")).subject
    assert (new.what, new.character) == ("Block, then punish", "")
    for typed in ("block, then punish", "drill: BLOCK, then punish"):
        assert found(read_subject(DESK, HERE, typed, drills=[new.what])).subject == new
    assert refused(read_subject(DESK, HERE, "block, then punish")).code is LogRefusalCode.NO_SUCH_WHAT


def test_moves_are_read_under_the_member_s_control_scheme() -> None:
    one_button = found(read_subject(DESK, SIMPLE, "5MP xx 4HP"))
    assert one_button.route is not None
    assert one_button.route.moves[1].startup_frames == 14
    assert found(read_subject(DESK, HERE, "5MP xx 4HP", controls="one-button")) == one_button


def test_a_stored_subject_is_found_again_whatever_scheme_it_was_written_under() -> None:
    for read in (
        found(read_subject(DESK, HERE, "5MP > 2MP")),
        found(read_subject(DESK, SIMPLE, "5MP xx 4HP")),
        found(read_subject(DESK, HERE, "drill: block")),
    ):
        assert found_of(DESK, 1, read.subject) == read
        assert found(read_subject(DESK, NOBODY, typed_as(read.subject))) == read


@pytest.mark.parametrize(
    "changes", [{"game": "No such game"}, {"character": "Nobody Now"}, {"what": "5MP, 9ZZ"}]
)
def test_a_subject_that_the_game_file_lacks_is_not_found(changes: dict[str, str]) -> None:
    subject = found(read_subject(DESK, HERE, "5MP, 2MP")).subject
    assert found_of(DESK, 1, replace(subject, **changes)) is None


PRESSES = (
    "5LP",
    "5MP",
    "2MP",
    "2LK",
    "5HP",
    "236HP",
    "2HP",
    "j.MP",
    "66",
    "CH 5HP",
    "meaty(2) 5MK",
    "delay 2LP",
)


@given(
    st.lists(st.sampled_from(PRESSES), min_size=2, max_size=6),
    st.lists(st.sampled_from([", ", " > ", " xx ", " ~ ", " into "]), min_size=5, max_size=5),
)
def test_a_canonical_text_reads_as_itself(moves: list[str], between: list[str]) -> None:
    typed = moves[0] + "".join(mark + move for mark, move in zip(between, moves[1:], strict=False))
    read = read_subject(DESK, HERE, typed)
    if isinstance(read, Found):
        assert found(read_subject(DESK, HERE, read.subject.what)) == read
        assert found_of(DESK, 1, read.subject) == read
        assert len(windows_of(read)) == len(moves) - 1


@given(st.text(max_size=300))
def test_no_text_raises(typed: str) -> None:
    for place in (HERE, NOBODY):
        assert isinstance(read_subject(DESK, place, typed, SAVED, ["block"]), Found | LogRefusal)


JAB = row("5LP", 4, 3, 7, "+5", "+2")
DECAYING = game_of(JAB, row("5MP", 6, 4, 11, "+7", "+2"), hitstun_decay_frames=[0, 1, 4])


def presses_of(game: Game, typed: str) -> list[tuple[Means | None, Window | None]]:
    desk = desk_of(game=game)
    told = windows_of(found(read_subject(desk, NOBODY, typed)))
    assert all(step.window == (window if isinstance(window, Window) else None) for step, window in told)
    return [(step.means, step.window) for step, _ in told]


def test_windows_narrow_by_the_decay_of_the_hits_before() -> None:
    # 13 frames and 8 of hitstop: free on frame 22, gap 21, 3 frames of buffer before. W = 5 - decay - 4 + 1.
    assert presses_of(DECAYING, "5LP, 5LP, 5LP, 5MP, 5LP") == [
        (Means.LINK, Window(18, 22, 21)),
        (Means.LINK, Window(18, 21, 21)),
        (Means.LINK, None),  # 5 - 4 - 6 + 1 is below 1
        (Means.LINK, None),  # 7 - 4 - 4 + 1 is 0
    ]


def test_a_hit_state_and_a_meaty_count_for_their_own_press() -> None:
    game = game_of(JAB, hit_state=[{"name": "counter hit", "aliases": ["CH"], "bonus_frames": 2}])
    plain = Window(18, 22, 21)
    assert presses_of(game, "CH 5LP, 5LP, 5LP") == [
        (Means.LINK, Window(18, 24, 21)),
        (Means.LINK, plain),
    ]
    assert presses_of(game, "meaty(2) 5LP, 5LP, 5LP")[0] == (Means.LINK, Window(18, 23, 21))
    assert presses_of(game, "meaty 5LP, 5LP, 5LP")[0] == (Means.LINK, Window(18, 24, 21))


def test_a_press_that_nothing_lets_combo_has_a_reason_in_place_of_a_window() -> None:
    ((step, told),) = windows_of(found(read_subject(DESK, HERE, "5HP > 5HP")))
    assert (step.first, step.second, step.means, step.window) == ("5HP", "5HP", None, None)
    assert isinstance(told, Verdict)
    assert told.answer is Answer.NO


def test_a_cancelled_move_counts_as_come_by_a_cancel_for_the_next_press() -> None:
    rule = {
        "name": "not out of a chain",
        "from": {"moves": ["5MP"]},
        "into": {"moves": ["5HP"]},
        "contact": ["hit"],
        "not_after": ["chain"],
    }
    chain = {"name": "chain", "from": {"moves": ["5LP"]}, "into": {"moves": ["5MP"]}, "contact": ["hit"]}
    chain |= {"first_frame": 1, "last_frame": 9}
    game = game_of(
        JAB, row("5MP", 6, 4, 11, "+3", "+2"), row("5HP", 9, 4, 18, "+3", "-3"), chain=[chain], cancel=[rule]
    )
    assert [means for means, _ in presses_of(game, "5LP > 5MP > 5HP")] == [Means.CHAIN, None]
    assert [means for means, _ in presses_of(game, "5LP, 5MP > 5HP")] == [Means.LINK, Means.CANCEL]


def test_the_server_s_game_is_the_one_that_is_read() -> None:
    clock = HandClock(NOW)
    store = Store(Path("never opened"))
    book = SettingsBook(store, clock)
    desk = desk_with(store, clock, book, {name: demo(name) for name in GAMES})
    book._servers[1] = ServerSettings("Kitewind")
    assert found(read_subject(desk, HERE, "Ossily: 5L > 5L")).subject.game == "Kitewind"


def test_a_defender_in_the_air_is_hit_until_the_juggle_limit() -> None:
    launcher = row("2HP", 9, 6, 24, "launch 60", "-11")
    jab = row("5LP", 4, 3, 7, "+5", "+2", on_air_hit="launch 30")
    game = game_of(launcher, jab, juggle={"limit": 1})
    told = windows_of(found(read_subject(desk_of(game=game), NOBODY, "2HP, 5LP, 5LP, 5LP")))
    assert [isinstance(window, Window) for _, window in told] == [True, True, False]
    assert isinstance(told[2][1], Verdict)
    assert told[2][1].has(Code.JUGGLE_LIMIT)
