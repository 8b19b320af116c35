"""The shape of a game file as pydantic models, and their errors in the reader's words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal, TypeVar

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, PlainValidator, Strict, ValidationError

from core.gamefile import cells
from core.gamefile.problems import Place, Problems, ordinal
from core.model import (
    ContactKind,
    Freeze,
    HitLevel,
    Means,
    MoveKind,
    Order,
    Outcome,
    Projectile,
    Range,
    Stance,
    WhichHit,
)
from core.text import nearest, one_of, shown

MAX_FPS = 1_000

Name = Annotated[str, BeforeValidator(cells.name)]
Names = Annotated[list[Name], Field(max_length=cells.MAX_NAMES)]
Tag = Annotated[str, BeforeValidator(lambda value: cells.name(value).lower())]
Frames = Annotated[int, Field(ge=0, le=cells.MAX_FRAMES)]
Positive = Annotated[int, Field(ge=1, le=cells.MAX_FRAMES)]
Amount = Annotated[int, Field(ge=0, le=cells.MAX_NUMBER)]
Percent = Annotated[int, Field(ge=0, le=100)]
Steps = Annotated[list[Percent], Field(min_length=1, max_length=100)]
Kind = Annotated[MoveKind, Strict(False)]


class Section(BaseModel):
    """A table of the file: no key but the known ones, no value of another type."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, allow_inf_nan=False)


class GameSection(Section):
    """The top of the file. The tables in it are looked at one by one, so they stay as written."""

    name: Name
    version: Name
    fps: float = Field(gt=0, le=MAX_FPS)
    distance_unit: Name = "units"
    startup_counts: Literal["first active frame", "frames before active"] = "first active frame"
    advantage_counts: Literal["as seen", "hitstop left out"] = "as seen"
    strengths: Names = []
    hitstun_decay_frames: Annotated[list[Frames], Field(min_length=1, max_length=100)] | None = None
    directions_used_up: bool = False
    buttons: Any = None
    buffers: Any = None
    hitstop: Any = None
    hit_state: Any = None
    scaling: Any = None
    gauge: Any = None
    cancel: Any = None
    chain: Any = None
    motion: Any = None
    scheme: Any = None
    juggle: Any = None
    character: Any = None


class ButtonSection(Section):
    group: Name | None = None
    strength: Name | None = None


class BuffersSection(Section):
    link_frames: Frames | None = None
    cancel_frames: Frames | None = None
    cancel_window_frames: Frames | None = None
    held_press: Literal["newest", "first"] = "newest"


class HitStateSection(Section):
    name: Name
    aliases: Names = []
    bonus_frames: Frames | None = None
    applies_to: Annotated[WhichHit, Strict(False)] = WhichHit.FIRST


class ScalingSection(Section):
    steps_percent: Steps
    floor_percent: Percent = 0
    floors_percent: dict[Kind, Percent] = {}


class GaugeSection(Section):
    name: Name
    maximum: Annotated[int, Field(ge=1, le=cells.MAX_NUMBER)]
    start: Amount = 0
    bar: Annotated[int, Field(ge=1, le=cells.MAX_NUMBER)] | None = None


class SelectorSection(Section):
    kinds: list[Kind] = []
    strengths: list[Name] = []
    levels: list[Annotated[int, Field(ge=1, le=9)]] = []
    stances: list[Annotated[Stance, Strict(False)]] = []
    tags: list[Tag] = []
    without_tags: list[Tag] = []
    moves: list[Name] = []


class CancelSection(Section):
    name: Name
    source: SelectorSection = Field(alias="from")
    into: SelectorSection
    contact: Annotated[list[Annotated[ContactKind, Strict(False)]], Field(min_length=1)]
    first_frame: Positive = 1
    last_frame: Positive | None = None
    order: Annotated[Order, Strict(False)] = Order.ANY
    same_move: bool = True
    per_route: Positive | None = None
    not_after: list[Annotated[Means, Strict(False)]] = []
    jump: bool = False


class ChainSection(CancelSection):
    first_frame: Positive
    last_frame: Positive


class MotionSection(Section):
    name: Name
    forms: Annotated[list[Name], Field(min_length=1, max_length=cells.MAX_NAMES)]
    step_frames: Positive | None = None
    button_frames: Positive | None = None
    charge_frames: Frames | None = None
    priority: Annotated[int, Field(ge=-cells.MAX_FRAMES, le=cells.MAX_FRAMES)] = 0


class SchemeSection(Section):
    name: Name
    aliases: Names = []


class JuggleSection(Section):
    limit: Frames
    downed_hits: Frames = 0


class JumpSection(Section):
    before_frames: Frames
    air_frames: Positive
    landing_frames: Frames


class CharacterSection(Section):
    name: Name
    aliases: Names = []
    moves: Any = None
    move: Any = None
    jump: Any = None
    cancel: Any = None
    chain: Any = None


class MoveRow(Section):
    """A move's cells as read. None: left out."""

    input: Annotated[str | None, PlainValidator(cells.name)] = None
    name: Annotated[str | None, PlainValidator(cells.name)] = None
    aliases: Annotated[tuple[str, ...] | None, PlainValidator(cells.names)] = None
    kind: Annotated[MoveKind | None, PlainValidator(cells.kind)] = None
    level: Annotated[int | None, PlainValidator(cells.level)] = None
    strength: Annotated[str | None, PlainValidator(cells.name)] = None
    stance: Annotated[Stance | None, PlainValidator(cells.stance)] = None
    hit_level: Annotated[HitLevel | None, PlainValidator(cells.hit_level)] = None
    tags: Annotated[frozenset[str] | None, PlainValidator(cells.tags)] = None
    startup: Annotated[int | None, PlainValidator(cells.frames)] = None
    cancelled_startup: Annotated[int | None, PlainValidator(cells.frames)] = None
    freeze: Annotated[Freeze | None, PlainValidator(cells.freeze)] = None
    active: Annotated[tuple[cells.Span, ...] | None, PlainValidator(cells.active)] = None
    recovery: Annotated[int | None, PlainValidator(cells.frames)] = None
    total: Annotated[int | None, PlainValidator(cells.frames)] = None
    on_hit: Annotated[Outcome | None, PlainValidator(cells.outcome)] = None
    on_block: Annotated[Range | None, PlainValidator(cells.advantage)] = None
    on_air_hit: Annotated[Outcome | None, PlainValidator(cells.outcome)] = None
    hitstun: Annotated[tuple[int | None, ...] | None, PlainValidator(cells.stuns)] = None
    blockstun: Annotated[tuple[int | None, ...] | None, PlainValidator(cells.stuns)] = None
    cancellable_hits: Annotated[frozenset[int] | None, PlainValidator(cells.hit_numbers)] = None
    hitstop: Annotated[tuple[cells.Hitstop, ...] | None, PlainValidator(cells.hitstops)] = None
    damage: Annotated[tuple[int | None, ...] | None, PlainValidator(cells.damages)] = None
    projectile: Annotated[Projectile | None, PlainValidator(cells.projectile)] = None
    reach: Annotated[float | None, PlainValidator(cells.length)] = None
    pushback_on_hit: Annotated[float | None, PlainValidator(cells.number)] = None
    pushback_on_block: Annotated[float | None, PlainValidator(cells.number)] = None
    travel: Annotated[float | None, PlainValidator(cells.number)] = None
    juggle_start: Annotated[int | None, PlainValidator(cells.count)] = None
    juggle_add: Annotated[int | None, PlainValidator(cells.count)] = None
    juggle_limit: Annotated[int | None, PlainValidator(cells.count)] = None
    gain: Annotated[tuple[tuple[str, int], ...] | None, PlainValidator(cells.amounts)] = None
    cost: Annotated[tuple[tuple[str, int], ...] | None, PlainValidator(cells.amounts)] = None
    scheme: Annotated[str | None, PlainValidator(cells.name)] = None
    same_as: Annotated[str | None, PlainValidator(cells.name)] = None


COLUMNS = tuple(MoveRow.model_fields)

_EXAMPLES = {
    key: f"{key} = {value}"
    for key, value in {
        "name": '"Tidewrack"',
        "version": '"1.0"',
        "fps": "60",
        "steps_percent": "[100, 100, 80]",
        "maximum": "200",
        "from": '{ kinds = ["normal"] }',
        "into": '{ kinds = ["special"] }',
        "contact": '["hit", "block"]',
        "first_frame": "1",
        "last_frame": "6",
        "forms": '["236"]',
        "limit": "3",
        "before_frames": "4",
        "air_frames": "38",
        "landing_frames": "3",
    }.items()
}
"""An example of each key that a table may not leave out, and of others."""

Model = TypeVar("Model", bound=Section)


def validated(
    model: type[Model],
    data: object,
    place: Place,
    problems: Problems,
    filler: Mapping[str, object] | None = None,
) -> Model | None:
    """`data` as a model, after noting all that is wrong with it. Where something is, the rest is
    still returned without the wrong keys, so that it can be checked further; None where a needed
    key is missing that `filler` does not stand in for."""
    try:
        return model.model_validate(data)
    except ValidationError as error:
        mistakes = error.errors(include_url=False)
    for mistake in mistakes:
        field = _field(mistake["loc"])
        wrong, right = _sentence(mistake, model)
        problems.add(place, field, wrong, right)
    wrong_keys = {mistake["loc"][0] for mistake in mistakes if mistake["loc"]}
    kept = (
        {key: value for key, value in data.items() if key not in wrong_keys} if isinstance(data, dict) else {}
    )
    try:
        return model.model_validate({**(filler or {}), **kept})
    except ValidationError:
        return None


def keys_of(model: type[Section]) -> tuple[str, ...]:
    """The keys a table of the file may have."""
    return tuple(field.alias or name for name, field in model.model_fields.items())


def _field(location: tuple[int | str, ...]) -> str:
    words = ""
    for part in location:
        if isinstance(part, int):
            words += f", {ordinal(part + 1)} value"
        elif part != "[key]":
            words += f".{part}" if words else part
    return words if len(words) <= 2 * cells.MAX_NAME_LENGTH else words[: 2 * cells.MAX_NAME_LENGTH] + "..."


def _such_as(mistake: Mapping[str, Any], otherwise: str) -> str:
    """How the key of a mistake is written right, where there is an example of it."""
    return _EXAMPLES.get(str(mistake["loc"][-1]), otherwise)


def _sentence(mistake: Mapping[str, Any], model: type[Section]) -> tuple[str, str]:
    """What is wrong and what would be right, of one pydantic error."""
    sort, value, facts = mistake["type"], shown(mistake["input"]), mistake.get("ctx", {})
    if isinstance(facts.get("error"), cells.CellError):
        return facts["error"].wrong, facts["error"].right
    match sort:
        case "missing":
            return "is missing", f"add it, such as {_such_as(mistake, '')}"
        case "extra_forbidden":
            return _unknown_key(mistake, model)
        case "int_type" | "int_from_float":
            return f"{value} is not a whole number", f"write {_such_as(mistake, 'one such as 3')}"
        case "float_type" | "finite_number":
            return f"{value} is not a number", f"write {_such_as(mistake, 'one such as 1.5')}"
        case "bool_type":
            return f"{value} is not a yes or no", "write true or false"
        case "list_type":
            return f"{value} is not a list", "write the values in [ ] with commas between"
        case "dict_type" | "model_type":
            return f"{value} is not a table", "write its keys as key = value"
        case "literal_error" | "enum":
            return f"{value} is not among the choices", f"write {facts['expected'].replace(chr(39), chr(34))}"
        case "greater_than_equal" | "less_than_equal" | "greater_than":
            bounds = {"ge": "{} or more", "le": "{:g} or less", "gt": "more than {:g}"}
            (bound,) = (words.format(facts[key]) for key, words in bounds.items() if key in facts)
            return f"{value} is out of bounds", f"write {bound}"
        case "too_short":
            return "is an empty list", "give at least one value"
        case "too_long":
            return f"holds {facts['actual_length']} values", f"keep at most {facts['max_length']}"
        case _:
            return f"{value} does not belong here", "see the guide to game files for what does"


def _unknown_key(mistake: Mapping[str, Any], model: type[Section]) -> tuple[str, str]:
    *parents, key = mistake["loc"]
    known = keys_of(SelectorSection if parents else model)
    near = nearest(str(key), known)
    return (
        f"{shown(str(key))} is not known here",
        f"the nearest is {near}" if near else f"write {one_of(known)}",
    )
