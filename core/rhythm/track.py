"""The click track: a route's presses as sound, 16-bit samples at 48 kHz.

A click begins, with its first sample that is not 0, on the sample round(frame / fps / speed * rate),
halves up. Frame 0 is the first click of the count-in, or the first direction if that comes sooner. All
arithmetic is in whole numbers and fractions: a track is the same bytes on every machine. One loop is
count-in, presses and rest; further loops are the same samples again. There is one voice: a click is
over before the next one begins, so nothing is mixed.
"""

from __future__ import annotations

import struct
import sys
from array import array
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise
from statistics import median_low

from core.model import Means
from core.rhythm.schedule import Schedule, TimedPress

SAMPLE_RATE = 48_000
CHANNELS = 2
SPEEDS = (0.5, 0.75, 1.0)
"""The usual speeds; any from SLOWEST to FASTEST will do."""
SLOWEST, FASTEST = 0.25, 1.5
MOST_BEATS = 16
"""Of a count-in, and of a rest."""
LONGEST_SECONDS = 50
"""The longest track, all loops together: 9.6 MB, so that it may be sent."""

PULSE_MS = (300, 900)
"""A count-in is heard no faster and no slower than this: our own limits."""
ALONE_PULSE_MS = 500
"""The pulse of a rhythm of one press."""

PEAK = 24_000
"""Of 32,767."""
ATTACK, LENGTH = 24, 1_200
"""Samples of a click: half a millisecond to its peak, 25 milliseconds in all."""


class Sound(StrEnum):
    """What a click stands for. A route's first press sounds like a link: both are pressed when free."""

    COUNT = "count"
    DIRECTION = "direction"
    LINK = "link"
    CANCEL = "cancel"
    """A cancel or a chain: pressed into the move before."""


PERIODS = {Sound.COUNT: 120, Sound.DIRECTION: 80, Sound.LINK: 48, Sound.CANCEL: 32}
"""Samples of one period: 400, 600, 1,000 and 1,500 Hz. Multiples of 4."""


@dataclass(frozen=True, slots=True)
class Click:
    """One click: its frame from the start of the loop, at full speed, and the sample it begins on."""

    frame: Fraction
    sample: int
    sound: Sound


@dataclass(frozen=True, slots=True)
class Track:
    """What is heard: the clicks of one loop in order, a loop's length in samples, and how many loops.

    `pulse_frames`: between two clicks of the count-in, at full speed.
    """

    clicks: tuple[Click, ...]
    loop_samples: int
    loops: int
    speed: float
    pulse_frames: Fraction

    @property
    def samples(self) -> int:
        """Samples of the whole track, of one channel."""
        return self.loop_samples * self.loops

    @property
    def seconds(self) -> float:
        """How long the track is."""
        return self.samples / SAMPLE_RATE


def track(
    schedule: Schedule,
    *,
    speed: float = 1.0,
    loops: int = 1,
    count_in: int = 4,
    rest: int = 4,
    directions: Sequence[int] = (),
) -> Track:
    """The clicks of a schedule, played at `speed` (1 is as fast as the game) `loops` times.

    The pulse of the count-in is the middle one of the gaps between the steps' presses (of an even number
    the shorter), doubled or halved until it is heard every 300 to 900 ms. `count_in` and `rest`: so
    many pulses before the first press and after the last. `directions`: the frames from the first press
    (below 0: before it) on which directions are entered; one that falls on another click is left out.

    Raises ValueError for a speed, loops, a count-in or a rest out of bounds, and for a track longer than
    LONGEST_SECONDS.
    """
    if not SLOWEST <= speed <= FASTEST:
        raise ValueError(f"A click track runs at a speed from {SLOWEST} to {FASTEST}, not {speed:g}.")
    if loops < 1:
        raise ValueError(f"A click track has 1 loop or more, not {loops}.")
    for name, beats, least in (("count-in", count_in, 0), ("rest", rest, 1)):
        if not least <= beats <= MOST_BEATS:
            raise ValueError(f"The {name} takes {least} to {MOST_BEATS} beats, not {beats}.")
    a_frame = Fraction(SAMPLE_RATE) / Fraction(schedule.fps) / Fraction(speed)
    pulse = _pulse(schedule, a_frame)
    heard = {Fraction(frame): Sound.DIRECTION for frame in directions}
    heard |= {-beat * pulse: Sound.COUNT for beat in range(1, count_in + 1)}
    for press in schedule.presses:
        heard |= {Fraction(frame): _sound(press) for frame in press.frames}
    order = sorted(heard)
    lead, end = -order[0], order[-1]
    loop_samples = _samples(lead + end + rest * pulse, a_frame)
    most = LONGEST_SECONDS * SAMPLE_RATE // loop_samples
    if loops > most:
        raise ValueError(
            f"A click track takes {LONGEST_SECONDS} seconds at most: at this speed ask for "
            + (f"{most} loops or fewer." if most else "a shorter route.")
        )
    clicks = tuple(Click(lead + frame, _samples(lead + frame, a_frame), heard[frame]) for frame in order)
    return Track(clicks, loop_samples, loops, speed, pulse)


def track_wav(track: Track) -> bytes:
    """The track as the bytes of a WAV file with two equal channels."""
    loop = array("h", bytes(2 * track.loop_samples))
    ends = [*(click.sample for click in track.clicks), track.loop_samples]
    for click, (begin, end) in zip(track.clicks, pairwise(ends), strict=True):
        length = min(LENGTH, (end - begin) * 3 // 4)
        loop[begin : begin + length] = _tone(click.sound, length)
    return wav_bytes(loop * track.loops)


def wav_bytes(samples: Sequence[int], channels: int = CHANNELS) -> bytes:
    """A WAV file of these 16-bit samples at 48 kHz, the same on every channel: a header of 44 bytes, then
    the samples, little-endian (as Microsoft's "Multimedia Programming Interface", 1991, lays RIFF out)."""
    data = array("h", bytes(2 * channels * len(samples)))
    mono = samples if isinstance(samples, array) else array("h", samples)
    for channel in range(channels):
        data[channel::channels] = mono
    if sys.byteorder == "big":
        data.byteswap()
    frame_bytes = 2 * channels
    size = frame_bytes * len(mono)
    form = struct.pack("<HHIIHH", 1, channels, SAMPLE_RATE, SAMPLE_RATE * frame_bytes, frame_bytes, 16)
    header = struct.pack("<4sI4s4sI", b"RIFF", 36 + size, b"WAVE", b"fmt ", len(form))
    return b"".join((header, form, struct.pack("<4sI", b"data", size), data.tobytes()))


def _tone(sound: Sound, length: int) -> array[int]:
    """A triangle wave that begins on its crest, rises within ATTACK samples and falls off by squares."""
    period = PERIODS[sound]
    quarter = period // 4
    whole = ATTACK * length * length * quarter
    tone = array("h")
    for at in range(length):
        wave = abs(at % period - 2 * quarter) - quarter
        left = length - at
        tone.append(PEAK * min(at + 1, ATTACK) * left * left * wave // whole)
    return tone


def _sound(press: TimedPress) -> Sound:
    return Sound.CANCEL if press.means in (Means.CANCEL, Means.CHAIN) else Sound.LINK


def _samples(frames: Fraction, a_frame: Fraction) -> int:
    """The sample nearest to this many frames, halves up."""
    return (2 * frames * a_frame + 1) // 2


def _pulse(schedule: Schedule, a_frame: Fraction) -> Fraction:
    """Frames from one click of the count-in to the next."""
    shortest, longest = (Fraction(ms * SAMPLE_RATE, 1000) / a_frame for ms in PULSE_MS)
    gaps = [press.gap_frames for press in schedule.presses[1:]]
    pulse = Fraction(median_low(gaps)) if gaps else Fraction(ALONE_PULSE_MS * SAMPLE_RATE, 1000) / a_frame
    while pulse < shortest:
        pulse *= 2
    while pulse > longest:
        pulse /= 2
    return pulse
