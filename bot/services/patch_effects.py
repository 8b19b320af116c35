"""What follows from changes between versions, worked out in another process and held for the last few."""

from __future__ import annotations

import asyncio
from collections import OrderedDict, defaultdict
from collections.abc import Awaitable, Callable, Iterable, Mapping
from dataclasses import dataclass, field

from bot.ports import Worker
from bot.results.patches import Version
from bot.services.patch_work import part_of, patch_of, routes_touched, what_follows
from core.patches import Consequences, Patch, RouteChange, SavedText

Text = tuple[str, str, str | None]
"""Whose moves, as notation, and the control scheme to read them under."""
Progress = Callable[[int, int], Awaitable[None]]
"""Told how many texts are looked at, of how many."""

CHUNK = 100
"""So many texts go to the worker at once."""
AT_ONCE = 2
"""So many chunks are worked on at once: others need the worker too."""
HELD_CHANGES = 8
HELD_TEXTS = 20_000
"""Of one change."""


@dataclass(slots=True)
class Effects:
    """What is known of one change. `texts`: None where it leaves a text as it is."""

    before: Version
    after: Version
    patch: Patch
    follows: Consequences
    texts: dict[Text, RouteChange | None] = field(default_factory=dict)
    lock: asyncio.Lock = field(default_factory=asyncio.Lock)


class PatchEffects:
    """Versions never change once they are kept, so neither does what follows from two of them: many members
    look at the same change, and several keep the same routes."""

    def __init__(self, worker: Worker) -> None:
        self._worker = worker
        self._held: OrderedDict[tuple[int, int], Effects] = OrderedDict()
        self._one_by_one = asyncio.Lock()

    async def between(self, before: Version, after: Version) -> Effects:
        """What the change leads to for numbers, links and cancels. Raises WorkerError."""
        key = before.edition.id, after.edition.id
        async with self._one_by_one:  # whoever asks for the same meanwhile finds it done
            found = self._held.get(key)
            if found is None:
                patch, follows = await self._worker.run(what_follows, before.game, after.game)
                found = self._held[key] = Effects(before, after, patch, follows)
                while len(self._held) > HELD_CHANGES:
                    self._held.popitem(last=False)
            self._held.move_to_end(key)
        return found

    async def of_texts(
        self, effects: Effects, texts: Iterable[Text], progress: Progress | None = None
    ) -> Mapping[Text, RouteChange | None]:
        """What it does to these texts; None for what it leaves as it is. Raises WorkerError."""
        wanted = dict.fromkeys(texts)
        async with effects.lock:
            await self._look_at([text for text in wanted if text not in effects.texts], effects, progress)
            found = {text: effects.texts[text] for text in wanted}
            if len(effects.texts) > HELD_TEXTS:
                effects.texts.clear()
        return found

    async def _look_at(self, texts: list[Text], effects: Effects, progress: Progress | None) -> None:
        by_character: defaultdict[str, list[Text]] = defaultdict(list)
        for text in texts:
            by_character[text[0]].append(text)
        at_work, seen = asyncio.Semaphore(AT_ONCE), 0

        async def look(character: str, chunk: tuple[Text, ...]) -> None:
            nonlocal seen
            old, new = (part_of(version.game, character) for version in (effects.before, effects.after))
            patch = patch_of(effects.patch, character)
            numbered = tuple(SavedText(number, *text) for number, text in enumerate(chunk))
            async with at_work:
                changes = dict(await self._worker.run(routes_touched, old, new, patch, numbered))
            effects.texts.update((text, changes.get(number)) for number, text in enumerate(chunk))
            seen += len(chunk)
            if progress is not None:
                await progress(seen, len(texts))

        await asyncio.gather(
            *(
                look(character, tuple(own[start : start + CHUNK]))
                for character, own in by_character.items()
                for start in range(0, len(own), CHUNK)
            )
        )
