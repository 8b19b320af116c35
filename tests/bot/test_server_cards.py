"""The cards of a server's set-up, health, list of deeds and retention: every case has its words."""

from __future__ import annotations

from dataclasses import fields
from datetime import UTC, datetime

import pytest
from demo import demo

from bot.components.act import ModAct
from bot.render.audit import audit_card
from bot.render.card import Card, as_text
from bot.render.forms import form_text, practice_label
from bot.render.health import amiss_lines, health_card
from bot.render.keeping import ask_keep_card, keeping_card
from bot.render.setup import (
    STEPS,
    Chosen,
    done_card,
    joined_card,
    settings_card,
    setup_refusal_card,
    step_card,
    step_words,
)
from bot.results.ask import Welcome
from bot.results.audit import Deed, Entry
from bot.results.setup import AuditPage, ChannelHealth, Health, Need, Step, Used
from bot.results.tally import ServerSettings
from bot.services.settings import setting_text

GAME = demo("saltglass")
NOW = datetime(2026, 1, 14, 20, tzinfo=UTC)
OWN = (
    ModAct.SETUP,
    ModAct.SETUP_WORDS,
    ModAct.SETTINGS,
    ModAct.HEALTH,
    ModAct.KEEP_NOW,
    ModAct.AUDIT,
)
WELL = Health((ChannelHealth("frames", (Used.HERE,)),))


def said(card: Card) -> str:
    """The card as text, with all of its facts in it and one sentence before the rest."""
    text = as_text(card)
    assert "{" not in text
    assert "None" not in text
    assert card.lead.endswith((".", "?"))
    return text


def deed(deed: Deed, what: str = "") -> str:
    page = AuditPage((Entry(1, 7, NOW, deed, what),), older=False)
    return said(audit_card(page, {7: "Ann"}, {"12": "Trainers"}, UTC, GAME, first=True))


@pytest.mark.parametrize("one", list(Deed))
def test_every_deed_has_its_words(one: Deed) -> None:
    what = "zone=UTC" if one is Deed.SETTING else "5MP, 2MP"
    text = deed(one, what)
    assert "Wednesday, 14 Jan 2026, 20:00, Ann: " in text
    assert one.value not in text


@pytest.mark.parametrize("name", [one.name for one in fields(ServerSettings)])
def test_every_setting_has_its_words_chosen_or_taken_back(name: str) -> None:
    chosen, back = (deed(Deed.SETTING, setting_text(name, value)) for value in ("12", None))
    assert "chose" in chosen
    assert f"{name}=" not in chosen + back
    assert chosen != back or name == "game", "a game that is chosen is a deed of its own"


def test_a_role_is_called_as_it_is_now_and_one_that_is_gone_by_its_number() -> None:
    assert "the coaches' role Trainers" in deed(Deed.SETTING, setting_text("coach_role", 12))
    assert "the coaches' role 13" in deed(Deed.SETTING, setting_text("coach_role", 13))


def test_every_step_has_its_words_chosen_gone_or_not() -> None:
    for step in STEPS:
        texts = {said(step_card(step, one, GAME)) for one in (Chosen("This"), Chosen(), Chosen(gone=True))}
        assert len(texts) == 3, step
        assert all(f"Step {step + 1} of 8" in one for one in texts)
        assert step_words(step)


def test_all_settings_stand_on_one_card() -> None:
    chosen = {step: Chosen(f"<{step.name}>") for step in STEPS}
    text = said(settings_card("Harbour", chosen, 90, GAME))
    assert all(f"<{step.name}>" in text for step in STEPS)
    assert "90 days" in text
    assert "for ever" in said(settings_card("Harbour", {step: Chosen() for step in STEPS}, None, GAME))


def test_the_end_says_what_is_missing_and_who_sees_the_commands() -> None:
    assert "What is missing?" not in said(done_card("Harbour", WELL, None, GAME))
    ill = Health((ChannelHealth("frames", (Used.HERE,), (Need.SEND,)),), (Step.COACHES,))
    text = said(done_card("Harbour", ill, "Helpers", GAME))
    assert "I may not send messages" in text
    assert "Let the role Helpers see" in text


def test_each_need_and_use_has_its_words_and_how_it_is_granted() -> None:
    for need in Need:
        health = Health((ChannelHealth("frames", tuple(Used), (need,)),))
        assert "1 to mend" in said(health_card("Harbour", health, GAME))
        assert len(amiss_lines(health)) == 1
    every = said(health_card("Harbour", Health((ChannelHealth("frames", (Used.HERE,), tuple(Need)),)), GAME))
    assert "View Channel, Send Messages, Attach Files, Read Message History" in every
    gone = Health((ChannelHealth(None, (Used.NOTICES,)),), (Step.MODERATORS,))
    assert "2 to mend" in said(health_card("Harbour", gone, GAME))
    assert not gone.is_well
    assert WELL.is_well


@pytest.mark.parametrize("key", ["everybody", "managed", "no-channel", "not-you", "no-server"])
def test_each_refusal_is_a_sentence_that_says_what_would_be_right(key: str) -> None:
    assert said(setup_refusal_card(key, GAME, role="Bot", channel="closed"))


def test_retention_is_told_and_asked_in_words() -> None:
    assert "for ever" in said(keeping_card(None, 30, 3_650, GAME))
    assert "kept 90 days" in said(keeping_card(90, 30, 3_650, GAME))
    assert "1,234 tallies would be deleted" in said(ask_keep_card(90, 1_234, GAME))
    assert "No tally is older" in said(ask_keep_card(90, 0, GAME))


def test_the_greeting_leads_moderators_to_the_set_up() -> None:
    assert "/server setup" in said(joined_card(Welcome(GAME, ("Is 236HK safe?",))))


def test_every_button_for_moderators_has_a_label_and_every_form_field_a_hint() -> None:
    assert all(practice_label(act.value) for act in OWN)
    assert all(form_text(f"setup-{name}{end}") for name in ("zone", "quiet") for end in ("", "-hint"))
