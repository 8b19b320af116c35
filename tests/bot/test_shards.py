"""Which servers a process holds, and what `--shards` takes."""

from __future__ import annotations

from pathlib import Path

import pytest
from shell import run

from bot.client.shards import MOST, SINGLE, Shards, ShardsError, read_shards

SERVERS = [(number << 22) + 17 for number in range(1, 200)]


@pytest.mark.parametrize(
    ("said", "shards"),
    [
        ("0-1/4", Shards(0, 1, 4)),
        ("2/4", Shards(2, 2, 4)),
        (" 0/1 ", SINGLE),
        ("3-3/4", Shards(3, 3, 4)),
        (f"0-{MOST - 1}/{MOST}", Shards(0, MOST - 1, MOST)),
    ],
)
def test_shards_are_read_as_they_are_written(said: str, shards: Shards) -> None:
    assert read_shards(said) == shards


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("", "FIRST-LAST/COUNT"),
        ("2", "FIRST-LAST/COUNT"),
        ("one/4", "FIRST-LAST/COUNT"),
        ("-1/4", "FIRST-LAST/COUNT"),
        ("0-1-2/4", "FIRST-LAST/COUNT"),
        ("0/4\n1", "FIRST-LAST/COUNT"),
        ("٠/٤", "FIRST-LAST/COUNT"),
        ("0/0", "not 0"),
        (f"0/{MOST + 1}", f"1 to {MOST} shards"),
        ("4/4", "the last is 3"),
        ("2-5/4", "asks for shard 5"),
        ("3-1/4", "such as 1-3/4"),
    ],
)
def test_what_names_no_shards_is_refused_in_one_sentence(said: str, told: str) -> None:
    with pytest.raises(ShardsError) as caught:
        read_shards(said)
    sentence = str(caught.value)
    assert told in sentence
    assert "\n" not in sentence
    assert sentence.endswith(".")


@pytest.mark.parametrize(("first", "last", "count"), [(-1, 0, 1), (0, 1, 1), (2, 1, 4), (0, 0, 0)])
def test_shards_that_cannot_be_are_not_made(first: int, last: int, count: int) -> None:
    with pytest.raises(ValueError, match="no shards"):
        Shards(first, last, count)


def test_each_server_is_held_by_one_process_and_direct_messages_by_the_first() -> None:
    processes = [Shards(0, 1, 4), Shards(2, 2, 4), Shards(3, 3, 4)]
    for server_id in SERVERS:
        assert sum(one.holds(server_id) for one in processes) == 1
    assert {one.of(server_id) for one in processes for server_id in SERVERS} == {0, 1, 2, 3}
    assert [one.holds(None) for one in processes] == [True, False, False]


def test_the_platforms_own_rule_deals_the_servers_out() -> None:
    """(server_id >> 22) % count, as the platform's gateway documentation has it."""
    assert [Shards(0, 0, 3).of((number << 22) + 4_000_000) for number in range(6)] == [0, 1, 2, 0, 1, 2]


def test_one_process_alone_holds_everything() -> None:
    assert SINGLE.all
    assert Shards(0, 3, 4).all
    assert not Shards(0, 2, 4).all
    assert all(SINGLE.holds(server_id) for server_id in SERVERS)


@pytest.mark.parametrize("said", ["0-1/4", "3/4"])
def test_a_part_of_the_shards_needs_a_database_that_several_processes_can_use(
    said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    code, _, told = run(capsys, "run", "--shards", said)
    assert (code, told.count("\n")) == (2, 1)
    assert "PostgreSQL" in told


@pytest.mark.parametrize("said", ["4/4", "a"])
def test_wrong_shards_are_bad_usage(
    said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    code, _, told = run(capsys, "run", "--shards", said)
    assert (code, told.count("\n")) == (2, 1)
    assert repr(said) in told
