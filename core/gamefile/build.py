"""From the dictionaries and tables of a game file to the game."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from core.gamefile import system
from core.gamefile.characters import Roster, read_characters
from core.gamefile.entries import names_in, refuse_repeats
from core.gamefile.problems import GameFileError, Place, Problems
from core.gamefile.rules import Nameable, nameable, read_rules
from core.gamefile.schema import GameSection, validated
from core.gamefile.setting import Setting
from core.gamefile.tables import Table
from core.model import Character, Game

FILLER = {"name": "?", "version": "?", "fps": 60}


def load(rules: Mapping[str, object], tables: Mapping[str, Table], file: str = "game.toml") -> Game:
    """The game of a game file: `rules` is the TOML file as a dictionary, `tables` the CSV tables
    beside it by file name. Raises `GameFileError` with every problem found."""
    problems = Problems()
    top = Place(file)
    raw = dict(rules)
    head = validated(GameSection, raw, top, problems, FILLER) or GameSection.model_validate(FILLER)
    strengths = system.read_strengths(top, raw.get("strengths"), head, problems)
    buttons = system.read_buttons(file, head.buttons, strengths, problems)
    buffers = system.read_buffers(file, head.buffers, problems)
    hit_states = system.read_hit_states(file, head.hit_state, problems)
    gauges = system.read_gauges(file, head.gauge, problems)
    motions = system.read_motions(file, head.motion, problems)
    schemes = system.read_schemes(file, head.scheme, problems)
    setting = Setting(
        buttons=buttons,
        strengths=strengths,
        states=system.columns_of_states(head.hit_state),
        gauges=system.maxima_of_gauges(head.gauge, gauges),
        schemes=names_in(head.scheme),
        forms=system.motions_by_form(head.motion, motions),
        hitstop=system.read_hitstop(file, head.hitstop, strengths, problems),
        startup_added=1 if head.startup_counts == "frames before active" else 0,
        hitstop_left_out=head.advantage_counts == "hitstop left out",
    )
    scaling = system.read_scaling(file, head.scaling, problems)
    juggle = system.read_juggle(file, head.juggle, problems)
    rosters = read_characters(file, head.character, tables, setting, problems)
    complete = isinstance(head.character, list) and len(rosters) == len(head.character)
    everything = _nameable(strengths, rosters if complete else None)
    shared = read_rules(file, "", "", head.cancel, head.chain, everything, problems)
    refuse_repeats("rule", ((place, "name", rule.name) for place, rule in shared), problems)
    characters = []
    for roster in rosters:
        section, known = roster.section, _nameable(strengths, [roster])
        own = read_rules(file, "character.", section.name, section.cancel, section.chain, known, problems)
        refuse_repeats("rule", ((place, "name", rule.name) for place, rule in (*shared, *own)), problems)
        rules_of_own = tuple(rule for _, rule in own)
        characters.append(
            Character(section.name, tuple(section.aliases), roster.moves, rules_of_own, roster.jump)
        )
    if len(problems):
        raise GameFileError(problems.all)
    return Game(
        name=head.name,
        version=head.version,
        fps=head.fps,
        buttons=buttons or (),
        strengths=strengths or (),
        link_buffer_frames=buffers.link_frames,
        cancel_buffer_frames=buffers.cancel_frames,
        cancel_window_frames=buffers.cancel_window_frames,
        keeps_newest_press=buffers.held_press == "newest",
        hitstun_decay_frames=tuple(head.hitstun_decay_frames or ()),
        hit_states=hit_states,
        scaling=scaling,
        gauges=gauges,
        rules=tuple(rule for _, rule in shared),
        motions=tuple(motion for _, motion in motions),
        directions_used_up=head.directions_used_up,
        schemes=schemes,
        juggle=juggle,
        distance_unit=head.distance_unit,
        characters=tuple(characters),
    )


def _nameable(strengths: tuple[str, ...] | None, rosters: Sequence[Roster] | None) -> Nameable:
    """What rules may name. Tags are not judged where some moves are not there to carry them."""
    moves = [move for roster in rosters or () for move in roster.moves]
    tags: set[str] | None = set() if rosters is not None else None
    for roster in rosters or ():
        tags = None if tags is None or roster.tags is None else tags | roster.tags
    return nameable(strengths, moves, tags)
