"""Reading the game's own tables: buttons, hit states, gauges, motions and the rest."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from core.gamefile.cells import MAX_FRAMES
from core.gamefile.entries import names_in, read_entries, refuse_repeats
from core.gamefile.problems import Place, Problems
from core.gamefile.schema import (
    BuffersSection,
    ButtonSection,
    GameSection,
    GaugeSection,
    HitStateSection,
    JuggleSection,
    MotionSection,
    ScalingSection,
    SchemeSection,
    validated,
)
from core.gamefile.setting import PROJECTILE_ATTACKER
from core.gamefile.tables import state_columns
from core.model import Button, Gauge, HitState, JuggleRules, Motion, MoveKind, Scaling, Scheme
from core.text import shown

MAX_BUTTONS = 30

_BUTTON = re.compile(r"[^\W\d_]\w*")
_FORM = re.compile(r"[1-9]{2,20}")


def read_strengths(top: Place, data: object, game: GameSection, problems: Problems) -> tuple[str, ...] | None:
    """The strengths, weakest first; None where the list cannot be read."""
    strengths = tuple(game.strengths)
    if data is not None and not strengths and data != []:
        return None
    for index, strength in enumerate(strengths):
        if strength in strengths[:index]:
            problems.add(top, "strengths", f"{shown(strength)} is there twice", "name each strength once")
    return strengths


def read_buttons(
    file: str, data: object, strengths: Sequence[str] | None, problems: Problems
) -> tuple[Button, ...] | None:
    """The buttons in the game's order; None where the table cannot be read."""
    place = Place(file, "[buttons]")
    if not isinstance(data, dict) or not data:
        wrong = "is missing" if data is None else f"{shown(data)} is not a table of buttons"
        problems.add(place, "", wrong, 'write each button as LP = { group = "punch", strength = "light" }')
        return None
    if len(data) > MAX_BUTTONS:
        problems.add(place, "", f"has {len(data)} buttons", f"keep at most {MAX_BUTTONS}")
        return None
    buttons: dict[str, Button] = {}
    for key, entry in data.items():
        if not _BUTTON.fullmatch(key) or len(key) > 10:
            problems.add(
                place,
                key[:20],
                f"{shown(key)} cannot be told apart in an input",
                "name it with a letter first, then letters and digits, at most 10",
            )
        if key.casefold() in {known.casefold() for known in buttons}:
            problems.add(place, key, "is there twice but for upper case", "give each button its own name")
        section = validated(ButtonSection, entry, Place(file, "[buttons]", key), problems) or ButtonSection()
        if section.strength is not None and strengths is not None and section.strength not in strengths:
            problems.unknown(
                Place(file, "[buttons]", key),
                "strength",
                section.strength,
                "strength of this game",
                strengths,
            )
            section = ButtonSection(group=section.group)
        buttons[key] = Button(key, section.group, section.strength)
    return tuple(buttons.values())


def read_buffers(file: str, data: object, problems: Problems) -> BuffersSection:
    """The buffers; what is left out is unknown."""
    if data is None:
        return BuffersSection()
    return validated(BuffersSection, data, Place(file, "[buffers]"), problems) or BuffersSection()


def read_hitstop(
    file: str, data: object, strengths: Sequence[str] | None, problems: Problems
) -> Mapping[str, int]:
    """Hitstop by strength or kind, and the attacker's for projectiles."""
    place = Place(file, "[hitstop]")
    if data is None:
        return {}
    if not isinstance(data, dict):
        problems.add(place, "", f"{shown(data)} is not a table", "write its keys as light = 9")
        return {}
    known = (*(strengths or ()), *MoveKind, PROJECTILE_ATTACKER)
    found = {}
    for key, value in data.items():
        if key not in known and strengths is not None:
            problems.unknown(place, "", key, "strength or kind of move", known)
        if not isinstance(value, int) or isinstance(value, bool) or not 0 <= value <= MAX_FRAMES:
            problems.add(
                place,
                key[:60],
                f"{shown(value)} is not a number of frames",
                f"write 0 to {MAX_FRAMES}, such as 9",
            )
            continue
        found[key] = value
    return found


def read_hit_states(file: str, data: object, problems: Problems) -> tuple[HitState, ...]:
    """The hit states."""
    read = read_entries(file, "[[hit_state]]", HitStateSection, data, problems)
    refuse_repeats("hit state", _names(read), problems)
    for place, section in read:
        if section.name.casefold() in ("hit", "block", "air hit"):
            problems.add(
                place,
                "name",
                f"{shown(section.name)} has a meaning of its own",
                "give the hit state another name",
            )
    return tuple(
        HitState(section.name, tuple(section.aliases), section.bonus_frames, section.applies_to)
        for _, section in read
    )


def columns_of_states(data: object) -> Mapping[str, str] | None:
    """The moves' columns for hit states; None where the hit states cannot be read."""
    names = names_in(data)
    return None if names is None else state_columns(names)


def read_gauges(file: str, data: object, problems: Problems) -> tuple[Gauge, ...]:
    """The gauges."""
    read = read_entries(file, "[[gauge]]", GaugeSection, data, problems)
    refuse_repeats("gauge", ((place, "name", section.name) for place, section in read), problems)
    for place, section in read:
        for field, value in (("start", section.start), ("bar", section.bar or 0)):
            if value > section.maximum:
                problems.add(
                    place, field, f"{value} is above the maximum", f"write at most {section.maximum}"
                )
    return tuple(Gauge(section.name, section.maximum, section.start, section.bar) for _, section in read)


def maxima_of_gauges(data: object, gauges: Sequence[Gauge]) -> Mapping[str, int | None] | None:
    """Each gauge's maximum, where it can be read; None where the gauges' names cannot."""
    names = names_in(data)
    if names is None:
        return None
    return {**dict.fromkeys(names), **{gauge.name: gauge.maximum for gauge in gauges}}


def read_motions(file: str, data: object, problems: Problems) -> tuple[tuple[Place, Motion], ...]:
    """The motions, each with its place."""
    read = read_entries(file, "[[motion]]", MotionSection, data, problems)
    refuse_repeats("motion", ((place, "name", section.name) for place, section in read), problems)
    refuse_repeats(
        "motion", ((place, "forms", form) for place, section in read for form in section.forms), problems
    )
    for place, section in read:
        for form in section.forms:
            if not _FORM.fullmatch(form):
                problems.add(
                    place,
                    "forms",
                    f"{shown(form)} is not a row of directions",
                    "write digits 1 to 9, such as 236",
                )
    return tuple(
        (
            place,
            Motion(
                section.name,
                tuple(section.forms),
                section.step_frames,
                section.button_frames,
                section.charge_frames or None,
                section.priority,
            ),
        )
        for place, section in read
    )


def motions_by_form(data: object, motions: Sequence[tuple[Place, Motion]]) -> Mapping[str, Motion] | None:
    """The motion of each form; None where a motion cannot be read."""
    if data is not None and not (isinstance(data, list) and len(motions) == len(data)):
        return None
    return {form: motion for _, motion in motions for form in motion.forms}


def read_schemes(file: str, data: object, problems: Problems) -> tuple[Scheme, ...]:
    """The control schemes."""
    read = read_entries(file, "[[scheme]]", SchemeSection, data, problems)
    refuse_repeats("control scheme", _names(read), problems)
    return tuple(Scheme(section.name, tuple(section.aliases)) for _, section in read)


def read_scaling(file: str, data: object, problems: Problems) -> Scaling | None:
    """Damage scaling, where the file has it."""
    section = None if data is None else validated(ScalingSection, data, Place(file, "[scaling]"), problems)
    if section is None:
        return None
    return Scaling(tuple(section.steps_percent), section.floor_percent, tuple(section.floors_percent.items()))


def read_juggle(file: str, data: object, problems: Problems) -> JuggleRules | None:
    """Juggle limits, where the file has them."""
    section = None if data is None else validated(JuggleSection, data, Place(file, "[juggle]"), problems)
    return None if section is None else JuggleRules(section.limit, section.downed_hits)


def _names(read: Sequence[tuple[Place, HitStateSection | SchemeSection]]) -> Iterator[tuple[Place, str, str]]:
    for place, section in read:
        yield place, "name", section.name
        for alias in section.aliases:
            yield place, "aliases", alias
