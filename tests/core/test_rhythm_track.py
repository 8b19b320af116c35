"""The click track, read back as a WAV file: every click stands at its frame to the sample."""

from __future__ import annotations

import shutil
import subprocess
import wave
from array import array
from fractions import Fraction
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from scipy.io import wavfile

from core.model import Means
from core.rhythm import (
    LONGEST_SECONDS,
    SAMPLE_RATE,
    SPEEDS,
    RhythmStep,
    Schedule,
    Sound,
    Track,
    schedule,
    track,
    track_wav,
    wav_bytes,
)
from core.timing import Window

FULL_SCALE = 32_767
HZ = {Sound.COUNT: 400, Sound.DIRECTION: 600, Sound.LINK: 1_000, Sound.CANCEL: 1_500}


def route(fps: float = 60) -> Schedule:
    """Presses on 0, 23, 33 and 39 and 59: a link, a chain twice, a cancel."""
    steps = [
        RhythmStep("5MP"),
        RhythmStep("2MP", Means.LINK, Window(21, 25)),
        RhythmStep("2LP", Means.CHAIN, Window(13, 13), spacing_frames=6, aim_gap=13.0),
        RhythmStep("236HP", Means.CANCEL, Window(23, 23)),
    ]
    return schedule(steps, fps)


def samples(file: bytes) -> np.ndarray:
    """The left channel."""
    return np.frombuffer(file[44:], "<i2")[::2].astype(int)


def onsets(file: bytes) -> list[int]:
    """Where sound begins: a sample that is not 0 after at least 30 that are."""
    there = np.flatnonzero(samples(file))
    begins = np.flatnonzero(np.diff(there, prepend=-1_000) > 30)
    return [int(there[at]) for at in begins]


def test_the_presses_of_the_route_are_those_named_here() -> None:
    assert [press.frames for press in route().presses] == [(0,), (23,), (36, 42), (59,)]


@pytest.mark.parametrize("speed", [*SPEEDS, 0.25, 0.6, 0.9, 1.25, 1.5])
@pytest.mark.parametrize("fps", [60, 50, 59.94])
def test_every_click_begins_on_the_sample_of_its_frame(speed: float, fps: float) -> None:
    found = track(route(fps), speed=speed, count_in=0)
    expected = [round(frame / fps / speed * SAMPLE_RATE) for frame in (0, 23, 36, 42, 59)]
    assert onsets(track_wav(found)) == expected
    assert [click.sample for click in found.clicks] == expected


@pytest.mark.parametrize("speed", [*SPEEDS, 1.25])
def test_the_count_in_is_regular_and_the_first_press_stands_on_its_next_beat(speed: float) -> None:
    found = track(route(), speed=speed, count_in=4)
    beats = onsets(track_wav(found))[:5]
    pulse = float(found.pulse_frames) / 60 / speed * SAMPLE_RATE
    assert beats == [round(beat * pulse) for beat in range(5)]
    assert [click.sound for click in found.clicks[:5]] == [Sound.COUNT] * 4 + [Sound.LINK]


@pytest.mark.parametrize(
    ("gaps", "speed", "pulse"),
    [
        ((23,), 1.0, 23),  # 383 ms
        ((23, 30, 40), 1.0, 30),
        ((23, 30, 40, 50), 1.0, 30),  # of an even number the shorter of the middle
        ((10,), 1.0, 20),  # 167 ms is too fast to count
        ((10,), 0.5, 10),  # heard as 333 ms
        ((4,), 1.0, 32),
        ((120,), 1.0, 30),  # 2,000 ms is too slow
        ((25,), 0.25, 12.5),
        ((), 1.0, 30),  # one press: every 500 ms
        ((), 0.5, 15),
    ],
)
def test_the_pulse_is_the_route_s_middle_gap_where_it_can_be_counted(
    gaps: tuple[int, ...], speed: float, pulse: float
) -> None:
    steps = [RhythmStep("5MP"), *(RhythmStep("2MP", Means.LINK, Window(gap, gap)) for gap in gaps)]
    found = track(schedule(steps, 60), speed=speed)
    assert found.pulse_frames == pulse
    assert 300 <= float(found.pulse_frames) * 1000 / 60 / speed <= 900


def pitch(file: bytes, at: int, length: int = 1_200) -> float:
    """The strongest frequency of what begins there."""
    sound = np.zeros(SAMPLE_RATE)
    sound[:length] = samples(file)[at : at + length]
    return float(np.argmax(np.abs(np.fft.rfft(sound))))


def test_links_cancels_and_chains_directions_and_the_count_in_differ_in_pitch() -> None:
    found = track(route(), speed=0.5, directions=(50, 54))
    file = track_wav(found)
    heard = [(click.sound, pitch(file, click.sample)) for click in found.clicks]
    kinds = [*[Sound.COUNT] * 4, *[Sound.LINK] * 2, *[Sound.CANCEL] * 2, *[Sound.DIRECTION] * 2, Sound.CANCEL]
    assert [sound for sound, _ in heard] == kinds
    for sound, hertz in heard:
        assert hertz == pytest.approx(HZ[sound], rel=0.05)


def test_a_double_tap_is_two_clicks_and_one_press_is_one() -> None:
    clicks = track(route(), count_in=0).clicks
    assert [click.frame for click in clicks] == [0, 23, 36, 42, 59]


def test_directions_before_the_first_press_are_heard_in_the_count_in_or_before_it() -> None:
    inside = track(route(), directions=(-8, -4))
    assert [click.sound for click in inside.clicks[3:6]] == [Sound.COUNT, *[Sound.DIRECTION] * 2]
    alone = track(route(), count_in=0, directions=(-8, -4))
    assert [(click.frame, click.sound) for click in alone.clicks[:3]] == [
        (0, Sound.DIRECTION),
        (4, Sound.DIRECTION),
        (8, Sound.LINK),
    ]


def test_a_direction_on_the_frame_of_a_press_or_a_beat_is_left_out() -> None:
    plain = track(route())
    assert track(route(), directions=(23, -int(plain.pulse_frames))) == plain


@pytest.mark.parametrize("speed", [*SPEEDS, 0.9])
def test_every_loop_is_the_same_and_a_rest_lies_between(speed: float) -> None:
    one, three = track(route(), speed=speed), track(route(), speed=speed, loops=3)
    assert three.samples == 3 * one.samples
    loop = samples(track_wav(one))
    assert np.array_equal(samples(track_wav(three)), np.tile(loop, 3))
    last = one.clicks[-1]
    rest = round(float(4 * one.pulse_frames) / 60 / speed * SAMPLE_RATE)
    assert abs(one.loop_samples - last.sample - rest) <= 1
    assert not loop[last.sample + 1_200 :].any()


def test_a_longer_rest_is_so_many_pulses_longer() -> None:
    assert track(route(), rest=6).seconds - track(route(), rest=4).seconds == pytest.approx(2 * 23 / 60)


@pytest.mark.parametrize("speed", [0.25, 1.0, 1.5])
def test_clicks_a_frame_apart_stay_apart_and_below_full_scale(speed: float) -> None:
    steps = [RhythmStep("5MP"), *(RhythmStep("2MP", Means.LINK, Window(1, 1)) for _ in range(5))]
    found = track(schedule(steps, 60), speed=speed)
    file = track_wav(found)
    assert onsets(file) == [click.sample for click in found.clicks]
    assert 20_000 < np.abs(samples(file)).max() < 0.8 * FULL_SCALE


def test_a_click_rises_and_falls_within_a_fortieth_of_a_second() -> None:
    sound = np.abs(samples(track_wav(track(schedule([RhythmStep("5MP")], 60), count_in=0))))
    assert 0 < sound[0] < 2_000
    assert sound[:100].max() > 5 * sound[600:].max() / 2
    assert sound[1_199:].max() <= 1
    assert not sound[1_200:].any()


def test_the_same_schedule_is_the_same_bytes() -> None:
    assert track_wav(track(route(), loops=2)) == track_wav(track(route(), loops=2))
    assert track_wav(track(route())) != track_wav(track(route(), speed=0.75))


def test_both_channels_are_equal_as_the_standard_library_reads_them() -> None:
    found = track(route(), loops=2)
    with wave.open(BytesIO(track_wav(found))) as file:
        assert file.getparams()[:4] == (2, 2, 48_000, found.samples)
        data = np.frombuffer(file.readframes(found.samples), "<i2").reshape(-1, 2)
    assert np.array_equal(data[:, 0], data[:, 1])
    assert data.any()


def test_scipy_reads_the_same_clicks() -> None:
    found = track(route(), speed=0.75)
    rate, data = wavfile.read(BytesIO(track_wav(found)))
    assert (rate, data.dtype, data.shape) == (48_000, np.dtype("int16"), (found.samples, 2))
    assert np.array_equal(data[:, 0], samples(track_wav(found)))
    assert all(data[click.sample, 1] != 0 and data[click.sample - 1, 1] == 0 for click in found.clicks[1:])


@pytest.mark.skipif(shutil.which("sox") is None, reason="sox is not installed")
def test_sox_reads_the_same_samples(tmp_path: Path) -> None:
    found = track(route())
    path = tmp_path / "track.wav"
    path.write_bytes(track_wav(found))

    def told(*command: str) -> bytes:
        return subprocess.run(command, capture_output=True, check=True).stdout

    assert told("soxi", "-r", str(path)).strip() == b"48000"
    assert told("soxi", "-c", str(path)).strip() == b"2"
    assert told("soxi", "-b", str(path)).strip() == b"16"
    assert told("soxi", "-s", str(path)).strip() == str(found.samples).encode()
    raw = told("sox", str(path), "-t", "raw", "-e", "signed", "-b", "16", "-L", "-")
    assert raw == path.read_bytes()[44:]


@pytest.mark.parametrize(("channels", "size", "riff"), [(1, 1_644, 1_636), (2, 3_244, 3_236)])
def test_a_file_of_800_samples_has_the_size_it_must(channels: int, size: int, riff: int) -> None:
    """The sizes are those of RIFF with a 16-byte fmt chunk: 44 bytes, then 2 for each sample and channel."""
    file = wav_bytes([0] * 800, channels)
    assert len(file) == size
    assert file[:4] + file[8:16] == b"RIFFWAVEfmt "
    assert int.from_bytes(file[4:8], "little") == riff


def test_samples_are_stored_least_byte_first_on_every_channel() -> None:
    assert wav_bytes([1, -2, 0x1234])[44:] == bytes.fromhex("0100 0100 feff feff 3412 3412")
    assert wav_bytes(array("h", [1, -2]), 1)[44:] == bytes.fromhex("0100 feff")


def test_the_longest_track_is_made_and_one_loop_more_is_refused() -> None:
    one = track(route())
    most = int(LONGEST_SECONDS / one.seconds)
    assert track(route(), loops=most).seconds <= LONGEST_SECONDS
    with pytest.raises(ValueError, match=f"ask for {most} loops or fewer"):
        track(route(), loops=most + 1)
    with pytest.raises(ValueError, match="50 seconds at most"):
        track(route(), loops=10**12)


def test_a_route_too_long_for_one_loop_is_refused() -> None:
    steps = [RhythmStep("5MP"), RhythmStep("2MP", Means.LINK, Window(3_000, 3_000))]
    with pytest.raises(ValueError, match="a shorter route"):
        track(schedule(steps, 60))


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"speed": 0.2}, "speed from 0.25 to 1.5"),
        ({"speed": 1.6}, "speed from 0.25 to 1.5"),
        ({"speed": float("nan")}, "speed from 0.25 to 1.5"),
        ({"loops": 0}, "1 loop or more"),
        ({"count_in": -1}, "count-in takes 0 to 16 beats"),
        ({"count_in": 17}, "count-in takes 0 to 16 beats"),
        ({"rest": 0}, "rest takes 1 to 16 beats"),
    ],
)
def test_what_is_out_of_bounds_is_refused(wrong: dict[str, float], told: str) -> None:
    with pytest.raises(ValueError, match=told):
        track(route(), **wrong)  # type: ignore[arg-type]


def test_the_bounds_themselves_are_not_refused() -> None:
    for speed in (0.25, 1.5):
        assert track(route(), speed=speed, count_in=16, rest=16, loops=1).seconds > 0
    assert isinstance(track(route(), rest=1).pulse_frames, Fraction)
    assert isinstance(track(route()), Track)
