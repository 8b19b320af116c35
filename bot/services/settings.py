"""What members and servers chose: held in memory to be read at once, and written through to storage."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import replace
from typing import Any
from zoneinfo import ZoneInfo, available_timezones

from bot.ports import Clock
from bot.results.audit import Deed
from bot.results.place import DIRECT_MESSAGES, Owner, Place
from bot.results.tally import MemberSettings, ServerSettings
from bot.services.complete import complete_names
from bot.storage import audit
from bot.storage import settings as stored
from bot.storage.store import Store
from core.learning.quiet import USUAL, Quiet

GOAL = 0.8
"""The share from which something is owned, where a member named no other (common practice, no source)."""
UTC_ZONE = ZoneInfo("UTC")


def complete_zones(typed: str) -> tuple[str, ...]:
    """IANA time zones that the text may become, at most 25, best first."""
    zones = sorted(name for name in available_timezones() if "/" in name or name == "UTC")
    return complete_names(
        [(name, (name, name.rpartition("/")[2].replace("_", " "))) for name in zones], typed
    )


def zone_named(typed: str) -> str | None:
    """The IANA time zone of this name, in any case."""
    return {known.casefold(): known for known in available_timezones()}.get(typed.strip().casefold())


def setting_text(name: str, value: object) -> str:
    """What the list of what moderators did keeps of a setting: its name and value, ids as they are.

    >>> setting_text("zone", "Asia/Tokyo"), setting_text("patch_channel", None)
    ('zone=Asia/Tokyo', 'patch_channel=')
    """
    return f"{name}={'' if value is None else value}"


class SettingsBook:
    """Settings are few and small, so all of them are held. `load` before anything is read. What is changed is
    read from storage, in the transaction that changes it: another process may just have changed the rest."""

    def __init__(self, store: Store, clock: Clock) -> None:
        self._store = store
        self._clock = clock
        self._members: dict[Owner, MemberSettings] = {}
        self._servers: dict[int, ServerSettings] = {}
        self._homes: dict[int, dict[int, None]] = {}  # servers by member, the first first

    async def load(self) -> None:
        """Read everything that is stored."""
        async with self._store.settled() as reading:
            members = await stored.all_members(reading)
            self._servers = await stored.all_servers(reading)
            self._members, self._homes = {}, {}
            for owner, settings in members.items():
                self.hold(owner, settings)

    async def reread_members(self, owners: Collection[Owner]) -> tuple[Owner, ...]:
        """Read anew what is stored of these members, some hundreds at most; of whom nothing is any more."""
        async with self._store.settled() as reading:
            found = await stored.all_members(reading, owners)
            for owner, settings in found.items():
                self.hold(owner, settings)
            gone = tuple(owner for owner in owners if owner not in found)
            for owner in gone:
                self.drop(owner)
        return gone

    async def reread_servers(self, server_ids: Collection[int]) -> None:
        """Read anew what these servers chose, some hundreds at most."""
        async with self._store.settled() as reading:
            found = await stored.all_servers(reading, server_ids)
            for server_id in server_ids:
                self._servers.pop(server_id, None)
            self._servers.update(found)

    def home(self, place: Place) -> Place:
        """Where a member's settings and log are: in direct messages, those of the server in which the member
        first chose or logged something; their own where it was in direct messages that they began."""
        if place.server_id is not None:
            return place
        if Owner(DIRECT_MESSAGES, place.member_id) in self._members:
            return replace(place, direct=True)
        server_id = next(iter(self._homes.get(place.member_id, ())), None)
        return Place(server_id, place.channel_id, place.member_id, direct=True)

    def homes(self, place: Place) -> tuple[Owner, ...]:
        """Whose settings a member's wish is about who speaks here: their own of this server; in direct
        messages, where no server is meant, those of all."""
        servers = (*self._homes.get(place.member_id, ()), DIRECT_MESSAGES)
        owners = (Owner(server_id, place.member_id) for server_id in servers)
        known = tuple(owner for owner in owners if owner in self._members)
        return known if place.direct and known else (place.owner,)

    def member(self, owner: Owner) -> MemberSettings:
        """What this member chose."""
        return self._members.get(owner, MemberSettings())

    def server(self, server_id: int | None) -> ServerSettings:
        """What this server chose."""
        return self._servers.get(server_id or DIRECT_MESSAGES, ServerSettings())

    def keep_days(self) -> Mapping[int, int]:
        """How many days each server that does not keep tallies for ever keeps them."""
        kept = {server_id: settings.keep_days for server_id, settings in self._servers.items()}
        return {server_id: days for server_id, days in kept.items() if days is not None}

    def zone(self, owner: Owner) -> ZoneInfo:
        """The member's own time zone, else that of their server."""
        own = self.member(owner).zone
        return ZoneInfo(own) if own is not None else self.server_zone(owner.server_id)

    def server_zone(self, server_id: int) -> ZoneInfo:
        """The time zone of a server, else UTC."""
        name = self.server(server_id).zone
        return ZoneInfo(name) if name is not None else UTC_ZONE

    def quiet(self, owner: Owner) -> Quiet:
        """When this member is not to be reminded: as they wish, else as their server does, else as usual."""
        return self.member(owner).quiet or self.server(owner.server_id).quiet or USUAL

    def goal(self, owner: Owner) -> float:
        """The share from which this member calls something owned."""
        chosen = self.member(owner).goal
        return GOAL if chosen is None else chosen

    async def set_member(self, owner: Owner, settings: MemberSettings) -> None:
        """Store all of a member's choices."""
        await self.change_member(owner, lambda _: settings)

    async def change_member(
        self,
        owner: Owner,
        change: Callable[[MemberSettings], MemberSettings],
        event_id: int | None = None,
    ) -> None:
        """Change what a member chose, once for each event."""
        async with self._store.write(event_id) as writing:
            if writing.repeated:
                return
            settings = change(await stored.of_member(writing, owner))
            await stored.set_member(writing, owner, settings)
        self.hold(owner, settings)

    async def set_zone(self, place: Place, typed: str, event_id: int | None = None) -> str | None:
        """Choose the time zone of a server by its IANA name; None, and nothing changed, where there is none
        so called."""
        assert place.server_id is not None
        name = zone_named(typed)
        if name is not None:
            await self.change_server(place, {"zone": name}, event_id)
        return name

    async def change_server(
        self, place: Place, chosen: Mapping[str, Any], event_id: int | None = None
    ) -> ServerSettings:
        """Choose some of what a server may choose, by the names of `ServerSettings`, and note who did; what
        is not named stays. Once for each event."""
        owner = place.owner
        async with self._store.write(event_id) as writing:
            found = await stored.all_servers(writing, (owner.server_id,))
            before = found.get(owner.server_id, ServerSettings())
            settings = before if writing.repeated else replace(before, **chosen)
            if settings != before:
                await stored.set_server(writing, owner.server_id, settings)
                for name in chosen:
                    value = getattr(settings, name)
                    if value != getattr(before, name):
                        deed, what = Deed.SETTING, setting_text(name, value)
                        if name == "game" and value is not None:
                            deed, what = Deed.GAME_CHOSEN, value
                        await audit.note(writing, owner, self._clock.now(), deed, what)
        if settings != before:
            self._servers[owner.server_id] = settings
            self.hold(owner, self.member(owner))
        return settings

    async def set_server(self, server_id: int, settings: ServerSettings) -> None:
        """Store all of a server's choices as nobody's deed: the trial server is furnished so."""
        async with self._store.write() as writing:
            await stored.set_server(writing, server_id, settings)
        self._servers[server_id] = settings

    def hold(self, owner: Owner, settings: MemberSettings) -> None:
        """Take up what a use case has stored in its own transaction."""
        self._members[owner] = settings
        if owner.server_id != DIRECT_MESSAGES:
            self._homes.setdefault(owner.member_id, {}).setdefault(owner.server_id)

    def drop_server(self, server_id: int) -> None:
        """Forget a server of which nothing is kept any more, and its members there."""
        self._servers.pop(server_id, None)
        for owner in [one for one in self._members if one.server_id == server_id]:
            self.drop(owner)

    def drop(self, owner: Owner) -> None:
        """Forget a member whose data were erased."""
        self._members.pop(owner, None)
        homes = self._homes.get(owner.member_id, {})
        homes.pop(owner.server_id, None)
        if not homes:
            self._homes.pop(owner.member_id, None)
