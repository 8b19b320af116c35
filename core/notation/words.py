"""The trade's shorthand as data. Words are casefolded and without blanks; a game adds its own."""

from __future__ import annotations

from core.model import Means, Stance

STANCES: dict[Stance, tuple[str, ...]] = {
    Stance.STANDING: ("st", "s", "stand", "standing"),
    Stance.CROUCHING: ("cr", "c", "crouch", "crouching"),
    Stance.AIRBORNE: ("j", "jump", "jumping", "air", "airborne", "aerial"),
}

DIRECTIONS: dict[str, tuple[str, ...]] = {
    "1": ("db", "downback", "downbackward"),
    "2": ("d", "down"),
    "3": ("df", "downforward"),
    "4": ("b", "back", "backward", "backwards"),
    "5": ("n", "neutral"),
    "6": ("f", "fwd", "forward", "forwards", "toward", "towards"),
    "7": ("ub", "upback", "upbackward"),
    "8": ("u", "up"),
    "9": ("uf", "upforward"),
    "44": ("bb", "backback"),
    "66": ("ff", "forwardforward"),
}

MOTIONS: dict[str, tuple[str, ...]] = {
    "236": ("qcf", "quartercircleforward", "quartercircle"),
    "214": ("qcb", "quartercircleback", "quartercirclebackward"),
    "623": ("dp",),
    "421": ("rdp", "reversedp"),
    "41236": ("hcf", "halfcircleforward"),
    "63214": ("hcb", "halfcircleback", "halfcirclebackward"),
    "236236": ("dqcf", "doubleqcf", "doublequartercircleforward"),
    "214214": ("dqcb", "doubleqcb", "doublequartercircleback"),
    "360": ("fullcircle",),
    "720": ("doublefullcircle", "double360"),
}

CHARGE = "charge"

# A charge named by its second direction alone is held the opposite way first.
OPPOSITE = {"6": "4", "4": "6", "8": "2", "2": "8"}

# As digits, except where an arrow separates steps (see `split`).
ARROWS = {
    "↙": "1",
    "↓": "2",
    "↘": "3",
    "←": "4",
    "→": "6",
    "↖": "7",
    "↑": "8",
    "↗": "9",
    "⬋": "1",
    "⬇": "2",
    "⬊": "3",
    "⬅": "4",
    "➡": "6",
    "⬉": "7",
    "⬆": "8",
    "⬈": "9",
}

# Short words that names of moves may use, with the long one.
NAME_SHORTS = {"cl": "close"}

# What stands between two steps; None: whatever works.
MARKS: dict[str, Means | None] = {
    ",": Means.LINK,
    ";": Means.LINK,
    "~": Means.CHAIN,
    "->": None,
    "=>": None,
    ">": None,
}
SEPARATING_WORDS: dict[str, Means | None] = {
    "xx": Means.CANCEL,
    "into": None,
    "then": None,
    "and then": None,
}

DELAY = ("delayed", "delay", "dl")
MEATY = ("meaty",)
HOLD = ("holding", "hold", "held")
