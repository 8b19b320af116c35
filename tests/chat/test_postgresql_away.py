"""A PostgreSQL server that crashes under a running bot, and comes back: as members meet it."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from chat.practice import LINK
from chat.test_storage_faults import says
from chat.world import EnvClock, World, text_of
from databases import Server, address_named
from inline import InlineWorker
from pydantic import SecretStr
from raw import rows_in

from bot.app import Cornerman, build
from bot.client.policy import NOT_KEPT
from bot.client.shards import SINGLE
from bot.config import Settings

pytestmark = pytest.mark.postgresql


@pytest.fixture
def server() -> Iterator[Server]:
    made = Server(fsync="on", full_page_writes="on")
    yield made
    made.remove()


@pytest.fixture
def simcord_bot(clock: EnvClock, server: Server) -> Cornerman:
    settings = Settings.model_construct(database=SecretStr(server.url("postgres")))
    return build(settings, clock, InlineWorker(), SINGLE)


async def test_members_are_told_and_the_bot_goes_on_by_itself(world: World, server: Server) -> None:
    salt, ann = world.salt, world.salt.ann

    async def log() -> str:
        return text_of(await ann.slash(salt.channel, "log", what=LINK, result="7/10"))

    assert "7 of 10" in await log()
    server.stop("immediate")
    assert says(NOT_KEPT, await log())
    assert "236HK" in text_of(await ann.slash(salt.channel, "ask", question="is Mirrel's 236HK safe?"))
    _ = world.env.errors  # simcord notes those of commands although they were handled
    server.start()
    assert "14 of 20" in await log()
    query = "SELECT sum(tries) AS tries FROM tally WHERE NOT undone"
    assert [row["tries"] for row in rows_in(address_named(server.url("postgres")), query)] == [20]
