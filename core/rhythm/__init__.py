"""When to press: the schedule of a route's presses, and its click track. Import from here."""

from core.rhythm.schedule import RhythmStep, Schedule, TimedPress, schedule
from core.rhythm.track import (
    CHANNELS,
    LONGEST_SECONDS,
    SAMPLE_RATE,
    SPEEDS,
    Click,
    Sound,
    Track,
    track,
    track_wav,
    wav_bytes,
)

__all__ = [
    "CHANNELS",
    "LONGEST_SECONDS",
    "SAMPLE_RATE",
    "SPEEDS",
    "Click",
    "RhythmStep",
    "Schedule",
    "Sound",
    "TimedPress",
    "Track",
    "schedule",
    "track",
    "track_wav",
    "wav_bytes",
]
