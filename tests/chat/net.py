"""A net for what discord.py swallows: ERROR records of its own and asyncio's loggers."""

from __future__ import annotations

import gc
import logging
from collections.abc import Iterator
from contextlib import contextmanager


class _Net(logging.Handler):
    def __init__(self) -> None:
        super().__init__(logging.ERROR)
        self.records: list[logging.LogRecord] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.records.append(record)


@contextmanager
def error_records(*names: str) -> Iterator[list[logging.LogRecord]]:
    """The ERROR records of these loggers from here on."""
    net = _Net()
    loggers = [logging.getLogger(name) for name in names]
    for logger in loggers:
        logger.addHandler(net)
    try:
        yield net.records
    finally:
        gc.collect()  # "Task exception was never retrieved" comes when the task is collected
        for logger in loggers:
            logger.removeHandler(net)
