"""What the members of a soak do: the mix of commands of a busy evening, drawn by chance."""

from __future__ import annotations

from dataclasses import dataclass, field
from random import Random
from typing import Any

from chat.platform import command

SERVERS = (1000, 2000, 3000)
MEMBERS = 150
LINKS = ("Odrun's 5MP, 2MP", "Odrun's 5LP, 2LP", "Odrun's 2MP, 2LP")
TEXT, WHOLE = 3, 4
"""The platform's types of options."""
CHANCES = {
    "log": 50,
    "ask": 12,
    "link": 8,
    "move": 5,
    "undo": 4,
    "progress": 4,
    "plan": 3,
    "timing": 4,
    "tallies": 4,
    "route check": 3,
    "route rhythm": 1,
    "goal": 1,
    "mydata show": 1,
}
QUESTIONS = (
    "does Odrun's 5MP link into 2MP?",
    "can I cancel 5MP into 236LP?",
    "what should I learn from 5MP?",
    "is 2MP punishable?",
)
CHARACTER = "odrun"


@dataclass(frozen=True, slots=True)
class Ask:
    """One interaction, and how it came to be. `tries` and `landed`: of what it logs, none for others."""

    id: int
    name: str
    data: dict[str, Any]
    tries: int = 0
    landed: int = 0


@dataclass(slots=True)
class Asker:
    """Draws what is done next. Ids grow, as the platform's do."""

    chance: Random
    next_id: int = 1_000_000
    asked: dict[int, Ask] = field(default_factory=dict)

    def draw(self) -> Ask:
        """Something that somebody does somewhere."""
        name = self.chance.choices(list(CHANCES), list(CHANCES.values()))[0]
        tries = self.chance.randint(1, 30)
        landed = self.chance.randint(0, tries)
        given: dict[str, str | int] = {}
        match name:
            case "log":
                given = {"what": self.chance.choice(LINKS), "result": f"{landed}/{tries}"}
            case "ask":
                given = {"question": self.chance.choice(QUESTIONS)}
            case "link":
                given = {"first": "5MP", "second": "2MP", "character": CHARACTER}
            case "move":
                given = {"move": "5MP", "character": CHARACTER}
            case "plan":
                given = {"minutes": 15}
            case "route check" | "route rhythm":
                given = {"moves" if name.endswith("check") else "what": "Odrun's 5MP, 2MP xx 236LP"}
            case "goal":
                given = {"share": str(self.chance.randint(60, 90))}
        self.next_id += 1
        server_id = self.chance.choice((*SERVERS, None))
        logs = name == "log"
        ask = Ask(
            self.next_id,
            name,
            interaction(self.next_id, name, server_id, 10 + self.chance.randrange(MEMBERS), given),
            tries if logs else 0,
            landed if logs else 0,
        )
        self.asked[ask.id] = ask
        return ask


def interaction(
    number: int, name: str, server_id: int | None, member_id: int, given: dict[str, str | int]
) -> dict[str, Any]:
    """A slash command as the gateway sends it; `name`: of a group's command both, with a space."""
    group, _, within = name.partition(" ")
    sent = command(number, group, server_id)
    options = [
        {"name": key, "type": WHOLE if isinstance(value, int) else TEXT, "value": value}
        for key, value in given.items()
    ]
    sent["token"] = f"token-of-{number}"
    sent["data"]["options"] = [{"name": within, "type": 1, "options": options}] if within else options
    user = sent["member"]["user"] if server_id is not None else sent["user"]
    user["id"] = str(member_id)
    return sent
