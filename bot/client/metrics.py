"""Figures for whoever runs the bot, in Prometheus' text format, told on this machine alone."""

from __future__ import annotations

import logging
from collections.abc import Awaitable, Callable, Iterator
from dataclasses import dataclass
from time import monotonic

from aiohttp import web
from prometheus_client import CollectorRegistry, Counter, Histogram, generate_latest
from prometheus_client.exposition import CONTENT_TYPE_LATEST
from prometheus_client.metrics_core import CounterMetricFamily, GaugeMetricFamily, Metric

from bot.client.run import RunError
from bot.client.work import Done

LOOPBACK = "127.0.0.1"
PATH = "/metrics"
BUCKETS = (0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.0, 3.0, 5.0, 10.0, 30.0)
"""In seconds; the platform takes no answer after 3 that was not announced."""
FINISH_SECONDS = 1.0

PORT_TAKEN = (
    "Port {port} for the metrics cannot be used ({said}): set metrics_port to another, or to 0 for none."
)

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Readings:
    """What is looked up each time that somebody asks. `jobs`: how many are due by now, and how many are to
    come. `latency_seconds`: of the gateway; no finite number where it is not known yet."""

    jobs: Callable[[], Awaitable[tuple[int, int]]]
    writes: Callable[[], int]
    latency_seconds: Callable[[], float]
    servers: Callable[[], int]


class Metrics:
    """Counts what is told to it, and serves that with the readings. No figure names a member or a server."""

    def __init__(self, port: int, readings: Readings) -> None:
        self._port = port
        self._readings = readings
        self._began_at = monotonic()
        self._runner: web.AppRunner | None = None
        self._jobs: tuple[int, int] | None = None
        self.registry = CollectorRegistry()
        self._actions = Counter(
            "cornerman_actions",
            "Commands, buttons, forms, messages and completed options that were worked on.",
            ("action", "outcome"),
            registry=self.registry,
        )
        self._seconds = Histogram(
            "cornerman_action_seconds",
            "How long they took, by their kind.",
            ("kind",),
            buckets=BUCKETS,
            registry=self.registry,
        )
        self._errors = Counter(
            "cornerman_errors",
            "Errors in the log, by who wrote them.",
            ("logger",),
            registry=self.registry,
        )
        self._jobs_ended = Counter(
            "cornerman_jobs",
            "Jobs that were tried, by their kind.",
            ("kind", "outcome"),
            registry=self.registry,
        )
        self.registry.register(self)
        self._counting = _Counting(self._errors)

    @property
    def port(self) -> int:
        """Where it is served; 0 where it is not."""
        return int(self._runner.addresses[0][1]) if self._runner is not None else 0

    def work_ended(self, done: Done) -> None:
        """Count a piece of work that is over."""
        self._actions.labels(done.doing.action, done.outcome.value).inc()
        self._seconds.labels(done.doing.action.partition(" ")[0]).observe(done.seconds)

    def job_ended(self, kind: str, outcome: str) -> None:
        """Count a job that was tried."""
        self._jobs_ended.labels(kind, outcome).inc()

    def collect(self) -> Iterator[Metric]:
        """The readings, for the registry."""
        readings = self._readings
        if self._jobs is not None:
            due, later = self._jobs
            waiting = GaugeMetricFamily(
                "cornerman_jobs_waiting", "Jobs that are still to be done.", labels=["due"]
            )
            waiting.add_metric(["now"], due)
            waiting.add_metric(["later"], later)
            yield waiting
        yield CounterMetricFamily(
            "cornerman_database_writes", "Transactions that wrote.", value=readings.writes()
        )
        yield GaugeMetricFamily(
            "cornerman_gateway_latency_seconds",
            "From a heartbeat to the platform's receipt; not finite before the first.",
            value=readings.latency_seconds(),
        )
        yield GaugeMetricFamily(
            "cornerman_servers", "Servers that the bot has joined.", value=readings.servers()
        )
        yield GaugeMetricFamily(
            "cornerman_uptime_seconds", "Since the bot was started.", value=monotonic() - self._began_at
        )

    async def text(self) -> bytes:
        """All figures, as they are now. What cannot be looked up is left out, and noted."""
        try:
            self._jobs = await self._readings.jobs()
        except Exception as error:
            self._jobs = None
            log.warning("the jobs that wait could not be counted: %s", error)
        return generate_latest(self.registry)

    async def open(self) -> None:
        """Begin to count errors and to serve. Raises RunError where the port cannot be used."""
        app = web.Application()
        app.router.add_get(PATH, self._answer)
        runner = web.AppRunner(app, access_log=None, shutdown_timeout=FINISH_SECONDS)
        await runner.setup()
        try:
            await web.TCPSite(runner, LOOPBACK, self._port).start()
        except OSError as error:
            await runner.cleanup()
            said = (error.strerror or "it failed").lower()
            raise RunError(PORT_TAKEN.format(port=self._port, said=said)) from None
        self._runner = runner
        logging.getLogger().addHandler(self._counting)
        log.info("metrics are at http://%s:%d%s", LOOPBACK, self.port, PATH)

    async def close(self) -> None:
        """Serve no more. Does nothing where nothing is served."""
        logging.getLogger().removeHandler(self._counting)
        runner, self._runner = self._runner, None
        if runner is not None:
            await runner.cleanup()

    async def _answer(self, _request: web.Request) -> web.Response:
        return web.Response(body=await self.text(), headers={"Content-Type": CONTENT_TYPE_LATEST})


class _Counting(logging.Handler):
    """Counts errors where all of them come by, those of libraries included."""

    def __init__(self, errors: Counter) -> None:
        super().__init__(logging.ERROR)
        self._errors = errors

    def emit(self, record: logging.LogRecord) -> None:
        self._errors.labels(record.name).inc()
