"""What the doctor finds of one thing."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from bot.doctor import Finding, examine

TOKEN = "MTIzNDU2Nzg5MA.GxYzAb.s3cr3t-p4rt_0f-1t"


def found(check: str, config: Path | None = None, now: datetime | None = None) -> Finding:
    """The one finding of this name."""
    findings = examine(config) if now is None else examine(config, lambda: now)
    (one,) = (finding for finding in findings if finding.check == check)
    return one
