"""The bot of a soak: `cornerman run` itself, but for where it looks for the platform.

Run with the port of that, and the options of `cornerman run`; the settings come from the environment.
"""

from __future__ import annotations

import sys

import discord
import yarl

from bot.__main__ import main


def connect_to(port: int) -> None:
    """Let the library find the platform on this port."""
    discord.http.Route.BASE = f"http://127.0.0.1:{port}/api/v10"
    gateway = yarl.URL(f"ws://127.0.0.1:{port}/gateway")
    discord.gateway.DiscordWebSocket.DEFAULT_GATEWAY = gateway


if __name__ == "__main__":  # its worker processes import this too
    connect_to(int(sys.argv[1]))
    sys.exit(main(["run", *sys.argv[2:]]))
