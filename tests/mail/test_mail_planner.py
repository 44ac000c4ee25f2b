"""The size planner: what it says is what comes, nothing is lost, and it says what cannot be."""

from __future__ import annotations

import zipfile
from dataclasses import replace
from io import BytesIO
from pathlib import Path, PurePosixPath

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from mailfolder import TO, composed, folder_of

from playalong.mail.compose import Composed, Envelope, compose
from playalong.mail.contents import Choice, Item, read_contents
from playalong.mail.parcels import TooLargeError, lower_rates, pack, predicted_mp3_bytes
from playalong.mail.zip import predicted_zip_bytes, safe_places, zip_bytes
from playalong.sound.audio import write_audio
from playalong.sound.tags import Tags

SIZES = st.lists(st.integers(0, 60_000), min_size=1, max_size=12)
TITLES = st.text(st.characters(exclude_categories=["C"]), min_size=1, max_size=80)


def names(mails: Composed) -> list[str]:
    return [item.name for mail in mails.mails for item in mail.items]


@settings(max_examples=40)
@given(sizes=SIZES, title=TITLES, zipped=st.booleans(), limit=st.integers(100_000, 300_000))
def test_the_predicted_size_is_the_real_one_or_at_most_one_per_cent_above(
    tmp_path_factory: pytest.TempPathFactory,
    sizes: list[int],
    title: str,
    zipped: bool,
    limit: int,
) -> None:
    out = folder_of(tmp_path_factory.mktemp("set"), sizes, title=title, session=30_000)
    envelope = Envelope(TO, limit_bytes=limit, zipped=zipped, greeting=title)
    for mail in compose(read_contents(out, Choice()), envelope).mails:
        real = len(mail.content())
        assert real <= mail.size_bytes <= 1.01 * real
        assert real <= limit


@settings(max_examples=25)
@given(sizes=SIZES, zipped=st.booleans())
def test_splitting_keeps_every_file_once_and_in_order(
    tmp_path_factory: pytest.TempPathFactory, sizes: list[int], zipped: bool
) -> None:
    out = folder_of(tmp_path_factory.mktemp("set"), sizes, sheet=5000)
    contents = read_contents(out, Choice(midi=True))
    mails = compose(contents, Envelope(TO, limit_bytes=110_000, zipped=zipped))
    assert names(mails) == [item.name for item in contents.items]
    for mail in mails.mails:
        attached = [each.name for each in mail.letter.attachments]
        assert zipped or attached[0] == "read-me-first.txt"


def test_split_mails_are_numbered_in_subject_words_and_zip(tmp_path: Path) -> None:
    out = folder_of(tmp_path, [60_000] * 3)
    envelope = Envelope(TO, subject="Tracks", limit_bytes=110_000, zipped=True)
    mails = compose(read_contents(out, Choice()), envelope).mails
    assert [mail.letter.subject for mail in mails] == [f"Tracks ({n} of 3)" for n in (1, 2, 3)]
    assert "This is mail 2 of 3" in " ".join(mails[1].letter.plain.split())
    assert mails[1].letter.attachments[0].name == "a-title-2-of-3.zip"


def test_what_fits_exactly_is_one_mail_and_one_byte_less_makes_two(tmp_path: Path) -> None:
    out = folder_of(tmp_path, [60_000, 60_000])
    items = read_contents(out, Choice()).items

    def weigh(some: object) -> int:
        return sum(item.size_bytes for item in some)  # type: ignore[attr-defined]

    assert len(pack(items, weigh, 120_000)) == 1
    assert len(pack(items, weigh, 119_999)) == 2


@pytest.mark.parametrize("zipped", [False, True])
def test_a_file_too_large_even_alone_is_an_error_with_the_ways_out(
    tmp_path: Path, zipped: bool
) -> None:
    out = folder_of(tmp_path, [10_000, 3_000_000, 10_000], ending=".wav")
    alone = r"F-major/D/02-062-listen\.wav alone makes a mail of 4\.2 MB"
    with pytest.raises(TooLargeError, match=alone) as error:
        compose(read_contents(out, Choice()), Envelope(TO, limit_bytes=2_000_000, zipped=zipped))
    told = str(error.value)
    for way_out in ("--limit", "--stage", "--bitrate", "--format mp3"):
        assert way_out in told


def test_a_session_goes_along_where_it_fits_and_is_told_where_not(tmp_path: Path) -> None:
    out = folder_of(tmp_path, [50_000], session=300_000)
    with_it, without = composed(out), composed(out, 200_000)
    assert names(with_it)[-1] == "F-major-D-session.mp3"
    assert not with_it.notes
    assert names(without) == ["F-major-D-01-061-listen.mp3"]
    assert "session.mp3 (0.3 MB) is not in the mail" in without.notes[0]


def test_a_session_that_is_asked_for_gets_a_mail_of_its_own(tmp_path: Path) -> None:
    out = folder_of(tmp_path, [150_000], session=150_000)
    envelope = Envelope(TO, limit_bytes=230_000, needs_sessions=True)
    mails = compose(read_contents(out, Choice(sessions=True)), envelope)
    assert [len(mail.items) for mail in mails.mails] == [1, 1]
    assert not [told for told in mails.notes if "not in the mail" in told]


@pytest.fixture(scope="module")
def loud(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Four real MP3 files of ten seconds at 96 kbit/s, noise over a tone."""
    out = folder_of(tmp_path_factory.mktemp("loud"), [120_000] * 4)
    rng = np.random.default_rng(5)
    for path in sorted(out.glob("F-major/D/*.mp3")):
        sound = rng.normal(0, 0.05, 441_000).astype(np.float32)
        write_audio(path, [sound], format="mp3", channels=1, tags=Tags("Übung ♭"))
    return out


def halved(items: list[Item], kbps: int) -> list[Item]:
    """Stands for any way to make files smaller: they are as large as predicted."""
    return [replace(i, size_bytes=predicted_mp3_bytes(i.seconds, kbps, 60)) for i in items]


@pytest.mark.parametrize(
    ("limit", "kbps", "mails"),
    [
        (700_000, None, 1),  # 4 x 120.7 kB, 165 kB each in base64: fits as it is
        (600_000, 80, 1),  # 4 x 137 kB
        (460_000, 64, 1),  # 4 x 110 kB
        (400_000, None, 2),  # two mails at 64 as well: nothing is won by it
        (240_000, 64, 2),  # 110 kB twice; at 80 three mails would do no better than four
        (200_000, None, 4),  # one track a mail at every rate
    ],
)
def test_the_bit_rate_is_lowered_as_little_as_brings_the_fewest_mails(
    loud: Path, limit: int, kbps: int | None, mails: int
) -> None:
    done = compose(read_contents(loud, Choice()), Envelope(TO, limit_bytes=limit), halved)
    assert (done.kbps, len(done.mails)) == (kbps, mails)


def test_the_floor_is_64_kbit_and_no_rate_below_is_tried(loud: Path) -> None:
    assert lower_rates(read_contents(loud, Choice()).items) == (80, 64)


@settings(max_examples=30)
@given(frames=st.integers(1, 500_000), kbps=st.sampled_from([64, 80, 96]), stereo=st.booleans())
def test_an_mp3_is_never_larger_than_predicted_and_at_most_one_per_cent_smaller(
    tmp_path_factory: pytest.TempPathFactory, frames: int, kbps: int, stereo: bool
) -> None:
    path = tmp_path_factory.mktemp("mp3") / "a.mp3"
    channels = 2 if stereo else 1
    sound = np.zeros((frames, channels), np.float32)
    write_audio(path, [sound], format="mp3", channels=channels, tags=Tags(""), bitrate_kbps=kbps)
    assert (
        0
        <= predicted_mp3_bytes(frames / 44_100, kbps) - path.stat().st_size
        <= 2 + 0.01 * (path.stat().st_size)
    )


ZIP_FILES = st.dictionaries(
    st.text(st.characters(exclude_categories=["C", "Z"]), min_size=1, max_size=30),
    st.binary(max_size=200),
    max_size=8,
)


@settings(max_examples=30)
@given(files=ZIP_FILES)
def test_a_zip_has_the_predicted_size_the_same_bytes_twice_and_every_file(
    tmp_path_factory: pytest.TempPathFactory, files: dict[str, bytes]
) -> None:
    folder = tmp_path_factory.mktemp("zip")
    places = safe_places(map(PurePosixPath, files), "set")
    assert len(set(places)) == len(files)
    on_disk = {}
    for number, (place, content) in enumerate(zip(places, files.values(), strict=True)):
        on_disk[place] = folder / str(number)
        on_disk[place].write_bytes(content)
    packed = zip_bytes(on_disk)
    sizes = dict(zip(places, map(len, files.values()), strict=True))
    assert len(packed) == predicted_zip_bytes(sizes)
    assert packed == zip_bytes(on_disk)
    with zipfile.ZipFile(BytesIO(packed)) as archive:
        assert archive.testzip() is None
        assert archive.namelist() == places
        assert [archive.read(place) for place in places] == list(files.values())


@pytest.mark.parametrize(
    ("place", "safe"),
    [
        ("F-major/D/01-060-listen.mp3", "set/F-major/D/01-060-listen.mp3"),
        ("Übung/名.mp3", "set/Übung/名.mp3"),
        ("../../etc/passwd", "set/etc/passwd"),
        ("/etc/passwd", "set/-/etc/passwd"),
        ("a\\b:c.mp3", "set/a-b-c.mp3"),
        ("con/aux.mp3", "set/_con/_aux.mp3"),
        ("ends. /x", "set/ends/x"),
        ("x" * 500 + ".mp3", "set/" + "x" * 116 + ".mp3"),
    ],
)
def test_names_in_a_zip_are_safe_on_every_system(place: str, safe: str) -> None:
    (found,) = safe_places([PurePosixPath(place)], "set")
    assert found == safe


def test_names_that_differ_only_in_case_stay_apart_in_a_zip() -> None:
    found = safe_places([PurePosixPath("A.mp3"), PurePosixPath("a.mp3")], "set")
    assert found == ["set/A.mp3", "set/a-2.mp3"]


def test_a_title_of_ten_thousand_characters_and_lines_becomes_a_short_subject(
    tmp_path: Path,
) -> None:
    out = folder_of(tmp_path, [100], title="<script>\r\nBcc: other@example.org " * 300)
    (mail,) = composed(out).mails
    assert len(mail.letter.subject) == 120
    assert mail.letter.subject.startswith("<script> Bcc: other@example.org <script>")
    assert b"\nBcc:" not in mail.content().split(b"\r\n\r\n")[0]
    assert "<script>" not in mail.letter.html
