import math
import os
import struct
import subprocess
import sys
import tracemalloc

import mutagen
import numpy as np
import pytest
import soundfile

from playalong.errors import PlayalongError
from playalong.folder.names import AudioFormat
from playalong.performance.clock import SAMPLE_RATE_HZ
from playalong.sound.audio import ENCODINGS, AudioError, write_audio
from playalong.sound.tags import Tags

ALL = list(map(str, AudioFormat))
ACCENTED = Tags(
    title="Étude à l’arc — B♭ ♯",
    album="Lagen für Zoë, ①",
    key="B♭ minor",
    string="Ré",
    tempo_bpm=60,
    stage="écoute",
    track_number=3,
)
DETAILS = "key: B♭ minor; string: Ré; tempo: 60; stage: écoute"


def noise(frames, seed=0, channels=1):
    shape = (frames, channels) if channels > 1 else frames
    return np.random.default_rng(seed).uniform(-0.4, 0.4, shape).astype(np.float32)


def cut(sound, frames=5000):
    return [sound[start : start + frames] for start in range(0, len(sound), frames)]


def written(folder, name, sound, tags=ACCENTED, channels=1, **more):
    path = folder / ("sound" + AudioFormat(name).ending)
    write_audio(path, cut(sound), format=name, channels=channels, tags=tags, **more)
    return path


def fields(path):
    """Tags as mutagen (not libsndfile) reads them; lower-case names, first values."""
    tags = mutagen.File(path).tags
    return {name.lower(): values[0] for name, values in tags.items()}


def riff_info(data):
    """LIST INFO of a WAV file by the RIFF layout (Microsoft, "RIFF", 1991), read by hand."""
    assert data[:4] == b"RIFF"
    assert data[8:12] == b"WAVE"
    assert struct.unpack("<I", data[4:8])[0] == len(data) - 8
    found, at = {}, 12
    while at < len(data):
        name, size = struct.unpack("<4sI", data[at : at + 8])
        body = data[at + 8 : at + 8 + size]
        at += 8 + size + size % 2
        if name == b"LIST" and body[:4] == b"INFO":
            inside = 4
            while inside < len(body):
                field, length = struct.unpack("<4sI", body[inside : inside + 8])
                text = body[inside + 8 : inside + 8 + length]
                found[field.decode()] = text.rstrip(b"\0").decode()
                inside += 8 + length + length % 2
    return found


@pytest.mark.parametrize("name", ["flac", "ogg", "opus"])
def test_tags_with_accents_and_flats_are_read_back_intact(tmp_path, name):
    told = fields(written(tmp_path, name, noise(9000)))
    assert told["title"] == ACCENTED.title
    assert told["album"] == ACCENTED.album
    assert told["tracknumber"] == "3"
    assert told["comment"] == DETAILS


def test_mp3_tags_with_accents_and_flats_are_read_back_intact(tmp_path):
    tags = mutagen.File(written(tmp_path, "mp3", noise(9000))).tags
    assert tags.version == (2, 4, 0)
    assert {frame.FrameID: str(frame.text[0]) for frame in tags.values()} == {
        "TIT2": ACCENTED.title,
        "TIT3": "écoute",
        "TALB": ACCENTED.album,
        "TRCK": "3",
        "TKEY": "Bbm",
        "TBPM": "60",
        "COMM": DETAILS,
    }


def test_wav_tags_with_accents_and_flats_are_read_back_intact(tmp_path):
    path = written(tmp_path, "wav", noise(9000))
    assert riff_info(path.read_bytes()) == {
        "INAM": ACCENTED.title,
        "IPRD": ACCENTED.album,
        "ITRK": "3",
        "ICMT": DETAILS,
    }
    with soundfile.SoundFile(path) as file:
        assert (file.title, file.album, file.comment) == (ACCENTED.title, ACCENTED.album, DETAILS)


@pytest.mark.parametrize("name", ALL)
def test_long_texts_are_not_cut(tmp_path, name):
    title = "♭é" * 400
    path = written(tmp_path, name, noise(9000), Tags(title=title))
    if name == "wav":
        assert riff_info(path.read_bytes())["INAM"] == title
    else:
        told = fields(path)
        assert str(told.get("title") or mutagen.File(path).tags["TIT2"]) == title


@pytest.mark.parametrize("name", ALL)
def test_a_file_needs_no_tags(tmp_path, name):
    path = written(tmp_path, name, noise(9000), Tags(title=""))
    assert soundfile.info(path).frames > 0


@pytest.mark.parametrize("channels", [1, 2])
@pytest.mark.parametrize("name", ALL)
def test_equal_input_gives_equal_bytes(tmp_path, name, channels):
    sound = noise(30_000, channels=channels)
    first = written(tmp_path, name, sound, channels=channels).read_bytes()
    assert written(tmp_path, name, sound, channels=channels).read_bytes() == first


@pytest.mark.parametrize("name", ALL)
def test_how_the_blocks_are_cut_changes_no_byte(tmp_path, name):
    sound = noise(50_000)
    whole, pieces = tmp_path / "whole", tmp_path / "pieces"
    write_audio(whole, [sound], format=name, channels=1, tags=ACCENTED)
    write_audio(pieces, cut(sound, 64), format=name, channels=1, tags=ACCENTED)
    assert whole.read_bytes() == pieces.read_bytes()


@pytest.mark.parametrize("channels", [1, 2])
@pytest.mark.parametrize("name", ["wav", "flac"])
def test_lossless_files_hold_every_sample_rounded_to_16_bits(tmp_path, name, channels):
    sound = noise(20_000, channels=channels)
    for frame, value in enumerate([1.0, -1.0, 0.5 / 32768, 1.5 / 32768]):
        sound[frame] = value
    back, rate_hz = soundfile.read(written(tmp_path, name, sound, channels=channels), dtype="int16")
    assert rate_hz == SAMPLE_RATE_HZ
    exact = np.rint(sound.astype(np.float64) * 32768)
    assert np.array_equal(back, np.minimum(exact, 32767).astype(np.int16))
    assert back.reshape(len(back), -1)[:4, 0].tolist() == [32767, -32768, 0, 2]


@pytest.mark.parametrize("channels", [1, 2])
@pytest.mark.parametrize("name", ALL)
def test_an_impulse_keeps_its_frame_and_the_file_its_length(tmp_path, name, channels):
    """On its very frame; Opus, at 48 kHz, on the frame nearest to its time."""
    frames = 10 * SAMPLE_RATE_HZ + 123
    impulses = [SAMPLE_RATE_HZ, 5 * SAMPLE_RATE_HZ + 777, 9 * SAMPLE_RATE_HZ + 13]
    sound = np.zeros((frames, channels), np.float32)
    sound[impulses] = 0.5
    path = written(tmp_path, name, sound if channels > 1 else sound[:, 0], channels=channels)
    back, rate_hz = soundfile.read(path, always_2d=True)
    assert rate_hz == ENCODINGS[name].sample_rate_hz
    assert len(back) == math.ceil(frames * rate_hz / SAMPLE_RATE_HZ)
    assert mutagen.File(path).info.length == pytest.approx(frames / SAMPLE_RATE_HZ, abs=1e-4)
    for impulse in impulses:
        expected = round(impulse * rate_hz / SAMPLE_RATE_HZ)
        start = expected - 300
        for ear in back[start : expected + 300].T:
            assert start + int(np.abs(ear).argmax()) == expected


@pytest.mark.parametrize(
    ("name", "kbps"),
    [(name, None) for name in ALL]
    + [
        (name, kbps)
        for name, row in ENCODINGS.items()
        if row.bitrates
        for kbps in row.bitrates.offered
    ],
)
def test_a_tone_keeps_its_level_within_a_tenth_of_a_db(tmp_path, name, kbps):
    """LAME makes sound up to 0.45 dB quieter, which would put the loudness off its target."""
    time = np.arange(3 * SAMPLE_RATE_HZ) / SAMPLE_RATE_HZ
    tone = (0.3 * np.sin(2 * np.pi * 440 * time)).astype(np.float32)
    back, rate_hz = soundfile.read(written(tmp_path, name, tone, bitrate_kbps=kbps))
    middle = back[rate_hz : 2 * rate_hz]
    turns = np.exp(-2j * np.pi * 440 * np.arange(len(middle)) / rate_hz)
    assert 20 * np.log10(2 * abs(np.mean(middle * turns)) / 0.3) == pytest.approx(0, abs=0.1)


@pytest.mark.parametrize("name", ALL)
def test_the_ears_stay_apart(tmp_path, name):
    """What one ear alone was given lies 60 dB lower in the other."""
    time = np.arange(3 * SAMPLE_RATE_HZ) / SAMPLE_RATE_HZ
    ears = np.stack([np.sin(2 * np.pi * hz * time) for hz in (440, 147)], axis=1)
    path = written(tmp_path, name, (0.3 * ears).astype(np.float32), channels=2)
    back, rate_hz = soundfile.read(path)
    middle = back[rate_hz : 2 * rate_hz]
    for ear, other_hz in ((0, 147), (1, 440)):
        turns = np.exp(-2j * np.pi * other_hz * np.arange(len(middle)) / rate_hz)
        assert 20 * np.log10(2 * abs(np.mean(middle[:, ear] * turns)) / 0.3) < -60


@pytest.mark.parametrize(("kbps", "channels"), [(None, 1), (64, 1), (128, 1), (None, 2), (320, 2)])
def test_mp3_has_one_constant_bit_rate(tmp_path, kbps, channels):
    sound = noise(3 * SAMPLE_RATE_HZ, channels=channels)
    info = mutagen.File(written(tmp_path, "mp3", sound, channels=channels, bitrate_kbps=kbps)).info
    assert info.bitrate == pytest.approx(1000 * (kbps or (96, 160)[channels - 1]), abs=10)
    assert info.bitrate_mode == mutagen.mp3.BitrateMode.CBR
    assert info.sample_rate == SAMPLE_RATE_HZ


def test_opus_takes_the_bit_rate_as_its_aim(tmp_path):
    info = mutagen.File(written(tmp_path, "opus", noise(5 * SAMPLE_RATE_HZ), bitrate_kbps=64)).info
    assert info.bitrate == pytest.approx(64_000, rel=0.1)


@pytest.mark.parametrize("name", ALL)
@pytest.mark.parametrize("frames", [1, 147, 40_000])
def test_any_length_is_written_even_as_one_block(tmp_path, name, frames):
    path = tmp_path / "sound"
    write_audio(path, [noise(frames)], format=name, channels=1, tags=ACCENTED)
    assert soundfile.info(path).frames == math.ceil(
        frames * ENCODINGS[name].sample_rate_hz / SAMPLE_RATE_HZ
    )


@pytest.mark.parametrize("name", ALL)
def test_one_block_of_minutes_does_not_crash_the_encoder(tmp_path, name):
    """libsndfile 1.2.2 crashes the process on one large Vorbis write."""
    write_audio(
        tmp_path / "long", [noise(90 * SAMPLE_RATE_HZ)], format=name, channels=1, tags=ACCENTED
    )


@pytest.mark.parametrize("name", ALL)
@pytest.mark.parametrize("amiss", [1.001, -1.001, math.inf, math.nan])
def test_sound_beyond_full_scale_is_refused(tmp_path, name, amiss):
    sound = noise(2 * SAMPLE_RATE_HZ)
    sound[66_150] = amiss
    with pytest.raises(AudioError, match=r"leaves full scale at 1\.500 seconds; make it quieter"):
        written(tmp_path, name, sound)
    assert os.listdir(tmp_path) == []


def test_unknown_format_names_the_nearest(tmp_path):
    with pytest.raises(AudioError, match=r'unknown audio format "flak"; did you mean "flac"\?'):
        write_audio(tmp_path / "x", [], format="flak", channels=1, tags=ACCENTED)
    assert issubclass(AudioError, PlayalongError)


@pytest.mark.parametrize(
    ("name", "kbps", "message"),
    [
        ("mp3", 100, "mp3 at 100 kbit/s is not offered; choose one of 64, 80, 96, 112,"),
        ("opus", 500, "opus at 500 kbit/s is not offered; choose one of 24, 32,"),
        ("flac", 96, "flac takes no bit rate; leave it out, or choose mp3 or opus"),
    ],
)
def test_a_bit_rate_that_is_not_offered_is_refused(tmp_path, name, kbps, message):
    with pytest.raises(AudioError, match=message):
        written(tmp_path, name, noise(100), bitrate_kbps=kbps)


@pytest.mark.parametrize("name", ALL)
def test_an_empty_sound_is_refused(tmp_path, name):
    with pytest.raises(AudioError, match=r"would be empty: there is no sound to write"):
        written(tmp_path, name, noise(0))
    assert os.listdir(tmp_path) == []


def test_blocks_of_other_channels_are_refused(tmp_path):
    with pytest.raises(AudioError, match="a block of 2 channels in a file of 1"):
        written(tmp_path, "wav", noise(100, channels=2))
    with pytest.raises(AudioError, match="one or two channels are written, not 3"):
        written(tmp_path, "wav", noise(100, channels=3), channels=3)


@pytest.mark.parametrize("name", ALL)
def test_a_failure_on_the_way_leaves_the_old_file_and_nothing_else(tmp_path, name):
    path = tmp_path / "sound"
    path.write_bytes(b"old")

    def failing():
        yield noise(30_000)
        raise OSError("the renderer's own trouble")

    with pytest.raises(OSError, match="the renderer's own trouble"):
        write_audio(path, failing(), format=name, channels=1, tags=ACCENTED)
    assert path.read_bytes() == b"old"
    assert os.listdir(tmp_path) == ["sound"]


def test_until_it_is_whole_a_file_stays_hidden(tmp_path):
    def watching():
        yield noise(30_000)
        assert [name[0] for name in os.listdir(tmp_path)] == ["."]

    write_audio(tmp_path / "sound", watching(), format="mp3", channels=1, tags=ACCENTED)
    assert os.listdir(tmp_path) == ["sound"]


def test_what_a_stopped_run_left_is_written_over(tmp_path):
    (tmp_path / ".sound.part").write_bytes(b"left" * 100_000)
    path = tmp_path / "sound"
    write_audio(path, [noise(1000)], format="mp3", channels=1, tags=ACCENTED)
    assert os.listdir(tmp_path) == ["sound"]
    assert soundfile.info(path).frames == 1000


def test_a_folder_that_is_not_there_is_told(tmp_path):
    with pytest.raises(AudioError, match=r"cannot write .*sound\.mp3: No such file or directory; "):
        written(tmp_path / "nowhere", "mp3", noise(100))


def test_a_folder_in_the_place_of_the_file_is_told(tmp_path):
    (tmp_path / "sound.mp3").mkdir()
    with pytest.raises(AudioError, match=r"cannot write .*sound\.mp3: Is a directory; "):
        written(tmp_path, "mp3", noise(100))
    assert os.listdir(tmp_path) == ["sound.mp3"]


@pytest.mark.skipif(sys.platform == "win32", reason="limits the file size by setrlimit")
@pytest.mark.parametrize("missing_bytes", [1, 500, 3000, 15_000])
@pytest.mark.parametrize("name", ALL)
def test_a_full_disk_is_told_and_leaves_nothing(tmp_path, name, missing_bytes):
    """The limit is met while writing, while the encoder closes, or while tags are put in."""
    sound = noise(3 * SAMPLE_RATE_HZ)
    size = written(tmp_path, name, sound).stat().st_size
    (tmp_path / ("sound" + AudioFormat(name).ending)).unlink()
    code = f"""
import resource, signal
import numpy as np
from pathlib import Path
from playalong.sound.audio import AudioError, write_audio
from playalong.sound.tags import Tags

signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, ({size - missing_bytes}, resource.RLIM_INFINITY))
sound = np.random.default_rng(0).uniform(-0.4, 0.4, {len(sound)}).astype(np.float32)
try:
    write_audio(Path("full"), [sound], format={name!r}, channels=1, tags={ACCENTED!r})
except AudioError as error:
    print(error)
"""
    run = subprocess.run(
        [sys.executable, "-c", code],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
        capture_output=True,
        text=True,
        check=True,
    )
    assert run.stdout.startswith("cannot write full: ")
    assert run.stdout.strip().endswith(
        "check that the folder exists, may be written to and has room"
    )
    assert os.listdir(tmp_path) == []


@pytest.mark.parametrize("name", ALL)
def test_memory_does_not_grow_with_length(tmp_path, name):
    block = noise(8192)

    def peak_bytes(blocks):
        tracemalloc.start()
        write_audio(
            tmp_path / "x", (block for _ in range(blocks)), format=name, channels=1, tags=ACCENTED
        )
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        return peak

    peak_bytes(2)  # imports
    assert peak_bytes(160) < 1.2 * peak_bytes(16) + 100_000
