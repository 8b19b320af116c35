"""A net for what is swallowed: ERROR records of the chat library, of the event loop, and of our own."""

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
def error_records(*names: str, collect: bool = True) -> Iterator[list[logging.LogRecord]]:
    """The ERROR records of these loggers from here on; `collect`: also of tasks that nobody holds any more,
    which the event loop tells of when they go."""
    net = _Net()
    loggers = [logging.getLogger(name) for name in names]
    for logger in loggers:
        logger.addHandler(net)
    try:
        yield net.records
    finally:
        if collect:
            gc.collect()  # "Task exception was never retrieved" comes when the task is collected
        for logger in loggers:
            logger.removeHandler(net)
