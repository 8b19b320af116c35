"""Whether the fonts are there that pictures are written with. Imports matplotlib."""

from __future__ import annotations

from matplotlib.font_manager import FontProperties, findfont

from bot.render.pictures.paper import FONT


def missing_fonts() -> tuple[str, ...]:
    """The fonts that matplotlib does not find, and would write in another one instead."""
    return tuple(f"{FONT} {weight}" for weight in ("normal", "bold") if not _is_there(weight))


def _is_there(weight: str) -> bool:
    try:
        findfont(FontProperties(family=FONT, weight=weight), fallback_to_default=False)
    except ValueError:
        return False
    return True
