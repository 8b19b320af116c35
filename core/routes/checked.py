"""What a check of a route says: each step, what it comes to, and what would mend it."""

from __future__ import annotations

from dataclasses import dataclass

from core.model import Character, Contact, Game, Means, milliseconds
from core.notation import Route, Step
from core.routes.ending import Ending
from core.routes.state import Start
from core.timing import Window
from core.verdict import Reason, Verdict


@dataclass(frozen=True, slots=True)
class StepCheck:
    """One step of a route, judged after all before it.

    `means`: how it comes out; None for the first, and where it does not. `window`: the accepted gaps
    from the start of the step before, its super freeze left out as `core.timing` does, or why they are
    not known; None for the first step, and where nothing is pressed in time. `contact`: how it meets the
    defender. `frame`: its start in real frames from the first press, at the soonest. `contact_frames`:
    from there to its first touch, its own `freeze_frames` left out. `damage`: its own, scaled; of all its
    hits that land before the next step.
    """

    step: Step
    means: Means | None
    verdict: Verdict
    window: Window | Verdict | None = None
    contact: Contact | None = None
    frame: int | None = None
    contact_frames: int | None = None
    freeze_frames: int = 0
    damage: int | None = None


@dataclass(frozen=True, slots=True)
class Repair:
    """A change near the step that fails, with which the route works up to and with that step.

    `kind`: "means", "move", "gauge", "state" or "meaty". `route`: the whole route so changed; `whole`:
    whether all of it works then. `start`: how it begins.
    """

    kind: str
    step: int
    route: Route
    start: Start
    whole: bool


@dataclass(frozen=True, slots=True)
class RouteCheck:
    """A route judged. `route` names the means by which its steps come out. `failing`: the number, from 0,
    of the first step that does not work or is not known to; `steps` end with it. `ending`, gauges,
    `frames` and `seconds` (from the first press until the player is free) speak of the steps that work;
    None where not even the first does. `notes`: what was not judged.
    """

    game: Game
    character: Character
    start: Start
    route: Route
    verdict: Verdict
    steps: tuple[StepCheck, ...]
    failing: int | None
    repairs: tuple[Repair, ...]
    ending: Ending | None
    spent: tuple[tuple[str, int], ...]
    gained: tuple[tuple[str, int], ...]
    presses: int
    directions: int
    notes: tuple[Reason, ...] = ()

    @property
    def works(self) -> bool:
        """Whether every step follows."""
        return self.failing is None

    @property
    def damage(self) -> int | None:
        """The route's damage; None where it does not work or a number is missing."""
        return self.ending.damage if self.ending is not None and self.works else None

    @property
    def frames(self) -> int | None:
        """Real frames from the first press until the player is free."""
        return self.ending.frames if self.ending is not None else None

    @property
    def seconds(self) -> float | None:
        """The same in seconds."""
        return None if self.frames is None else milliseconds(self.game, self.frames) / 1000
