"""The room's weekly drill and homework, and what a visitor sees of them as time goes by."""

from __future__ import annotations

from pathlib import Path

import discord
from chat.world import answers_in, labels_of, text_of
from room.opened import opened_at

from bot.services.access import Standing


async def test_a_drill_is_under_way_with_standings_of_who_agreed_to_be_named(tmp_path: Path) -> None:
    async with opened_at(tmp_path) as opened:
        (post,) = answers_in(opened.world.channels["drills"].channel, opened.bot)
        said = text_of(post)
        assert "until Monday, 5 Jan 2026, 18:00" in said
        assert "Tamsin" in said
        assert "Oskar" not in said
        assert "1 more takes part" in said
        assert "Join" in labels_of(post)


async def test_next_leads_to_a_reminder_the_recap_and_the_drill_of_the_next_week(tmp_path: Path) -> None:
    async with opened_at(tmp_path) as opened:
        drills, tamsin = opened.world.channels["drills"].channel, opened.world.messages["Tamsin"].channel
        for _ in range(5):
            assert await opened.passing.to_next()
        said = [text_of(post) for post in answers_in(drills, opened.bot)]
        assert len(said) == 3
        assert "Tamsin" in said[1]
        assert "won it" in said[1]
        assert "214LK" in said[2]
        told = [text_of(message) for message in answers_in(tamsin, opened.bot)]
        assert len(told) == 3  # new, due in a day, due
        assert all("5MP" in each for each in told)


async def test_hesper_is_a_coach_with_two_students(tmp_path: Path) -> None:
    async with opened_at(tmp_path) as opened:
        general = opened.bot.get_channel(opened.world.channels["general"].channel.id)
        assert isinstance(general, discord.TextChannel)
        viewers = opened.world.channels["general"].viewers
        standings = {
            member.name: opened.bot.access.standing(
                server_id=general.guild.id,
                member_id=member.id,
                manages_server=False,
                joined=True,
                roles=[role.id for role in member.roles],
            )
            for member in [await general.guild.fetch_member(one.id) for one in viewers]
        }
    assert standings["hesper"] is Standing.COACH
    assert standings["tamsin"] is standings["ivo"] is Standing.STUDENT
    assert standings["brindle"] is Standing.MEMBER
