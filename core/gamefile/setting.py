"""What a game's own tables say that its moves and rules are read and checked against."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from core.gamefile.cells import CellError, Hitstop
from core.model import Button, Motion, MoveKind
from core.notation import ParsedInput
from core.text import one_of

PROJECTILE_ATTACKER = "projectile_attacker"


@dataclass(frozen=True, slots=True)
class Setting:
    """Names and numbers of the game. None: that part of the file cannot be read, and nothing is
    checked against it. `states` holds the column of each hit state with its name, `gauges` each
    maximum where it is known, `forms` the motion of each accepted form."""

    buttons: tuple[Button, ...] | None
    strengths: tuple[str, ...] | None
    states: Mapping[str, str] | None
    gauges: Mapping[str, int | None] | None
    schemes: tuple[str, ...] | None
    forms: Mapping[str, Motion] | None
    hitstop: Mapping[str, int]
    startup_added: int
    hitstop_left_out: bool

    def hitstop_of(self, strength: str | None, kind: MoveKind, *, projectile: bool) -> Hitstop:
        """Attacker's and defender's hitstop of a move that names none itself."""
        frames = self.hitstop.get(strength or "", self.hitstop.get(kind))
        if frames is None:
            return None
        return self.hitstop.get(PROJECTILE_ATTACKER, 0) if projectile else frames, frames

    def check_motion(self, written: str, given: ParsedInput) -> None:
        """Raises CellError where the input needs a motion that the game does not have so."""
        digits = given.motion
        if self.forms is None or not digits:
            return
        motion = self.forms.get(digits)
        if motion is None:
            if not given.pressed:
                return
            forms = (
                f"write one that it has: {one_of(self.forms)}" if self.forms else "add a [[motion]] for it"
            )
            raise CellError(f"the motion {digits} is none of this game's", forms)
        if motion.charge_frames and not given.charge:
            charged = written.replace(digits, f"[{digits[0]}]{digits[1:]}", 1)
            raise CellError(f"the motion {digits} is charged here", f"write it as {charged}")
        if given.charge and not motion.charge_frames:
            raise CellError(f"the motion {digits} is not charged here", "drop the [ ], or give charge_frames")
