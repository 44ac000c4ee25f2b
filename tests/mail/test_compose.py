"""Mails of a set: what they are said to weigh is what comes, nothing is lost, and they say what
cannot be."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from mailfolder import TO, composed, folder_of

from playalong.mail.compose import ANY_DATE, Composed, MailOptions, compose, write_drafts
from playalong.mail.contents import Choice, Contents, Item, read_contents
from playalong.mail.parcels import TooLargeError, predicted_mp3_bytes
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
    options = MailOptions(TO, limit_bytes=limit, zipped=zipped, greeting=title)
    for mail in compose(read_contents(out, Choice()), options).mails:
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
    mails = compose(contents, MailOptions(TO, limit_bytes=110_000, zipped=zipped))
    assert names(mails) == [item.name for item in contents.items]
    for mail in mails.mails:
        attached = [each.name for each in mail.letter.attachments]
        assert zipped or attached[0] == "read-me-first.txt"


def test_split_mails_are_numbered_in_subject_words_and_zip(tmp_path: Path) -> None:
    out = folder_of(tmp_path, [60_000] * 3)
    options = MailOptions(TO, subject="Tracks", limit_bytes=110_000, zipped=True)
    mails = compose(read_contents(out, Choice()), options).mails
    assert [mail.letter.subject for mail in mails] == [f"Tracks ({n} of 3)" for n in (1, 2, 3)]
    assert "This is mail 2 of 3" in " ".join(mails[1].letter.plain.split())
    assert mails[1].letter.attachments[0].name == "a-title-2-of-3.zip"


@pytest.mark.parametrize("zipped", [False, True])
def test_a_file_too_large_even_alone_is_an_error_with_the_ways_out(
    tmp_path: Path, zipped: bool
) -> None:
    out = folder_of(tmp_path, [10_000, 3_000_000, 3_000_000], ending=".wav")
    alone = r"F-major/D/02-062-listen\.wav alone makes a mail of 4\.2 MB"
    with pytest.raises(TooLargeError, match=alone) as error:
        compose(read_contents(out, Choice()), MailOptions(TO, limit_bytes=2_000_000, zipped=zipped))
    told = str(error.value)
    for way_out in ("--limit", "--stage", "--bitrate", "--format mp3"):
        assert way_out in told


def test_a_session_goes_along_where_it_fits_and_is_told_where_not(tmp_path: Path) -> None:
    out = folder_of(tmp_path, [50_000], session=300_000)
    with_it, without = composed(out), composed(out, 200_000)
    assert names(with_it)[-1] == "F-major-D-session.mp3"
    assert not with_it.remarks
    assert names(without) == ["F-major-D-01-061-listen.mp3"]
    assert "session.mp3 (0.3 MB) is not in the mail" in without.remarks[0]


def test_a_session_that_is_asked_for_gets_a_mail_of_its_own(tmp_path: Path) -> None:
    out = folder_of(tmp_path, [150_000], session=150_000)
    options = MailOptions(TO, limit_bytes=230_000, needs_sessions=True)
    mails = compose(read_contents(out, Choice(sessions=True)), options)
    assert [len(mail.items) for mail in mails.mails] == [1, 1]
    assert not [told for told in mails.remarks if "not in the mail" in told]


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
    done = compose(read_contents(loud, Choice()), MailOptions(TO, limit_bytes=limit), halved)
    assert (done.kbps, len(done.mails)) == (kbps, mails)


@pytest.mark.parametrize(
    ("title", "subject"), [("T" * 120, "T" * 120), ("T" * 121, "T" * 119 + "…")]
)
def test_a_subject_is_the_title_up_to_120_characters(
    tmp_path: Path, title: str, subject: str
) -> None:
    (mail,) = composed(folder_of(tmp_path, [100], title=title)).mails
    assert mail.letter.subject == subject


def test_a_mail_is_weighed_with_a_date_as_long_as_its_own(tmp_path: Path) -> None:
    (mail,) = composed(folder_of(tmp_path, [100])).mails
    assert len(ANY_DATE) == len(mail.date)


@pytest.mark.parametrize(
    ("limit", "drafts"), [(300_000, ["a b.eml"]), (110_000, ["a b-1-of-2.eml", "a b-2-of-2.eml"])]
)
def test_drafts_are_numbered_where_there_are_several(
    tmp_path: Path, limit: int, drafts: list[str]
) -> None:
    done = composed(folder_of(tmp_path / "set", [60_000, 60_000]), limit)
    paths = write_drafts(done.mails, tmp_path / "new" / "drafts", "a b")
    assert paths == [tmp_path / "new" / "drafts" / name for name in drafts]
    assert [path.read_bytes() for path in paths] == [mail.content() for mail in done.mails]
    several = len(drafts) > 1
    subjects = ["A title (1 of 2)", "A title (2 of 2)"] if several else ["A title"]
    assert [mail.letter.subject for mail in done.mails] == subjects
    remark = "2 mails, because one would be larger than the limit"
    assert done.remarks == ((remark,) if several else ())


def test_a_single_zip_has_no_number(tmp_path: Path) -> None:
    contents = read_contents(folder_of(tmp_path, [100]), Choice())
    (mail,) = compose(contents, MailOptions(TO, 1_000_000, zipped=True)).mails
    assert [each.name for each in mail.letter.attachments] == ["a-title.zip"]


@pytest.mark.parametrize("to_send", [True, False])
def test_a_draft_stays_a_draft_also_where_the_sender_is_known(
    tmp_path: Path, to_send: bool
) -> None:
    contents, sender = read_contents(folder_of(tmp_path, [100]), Choice()), TO[0]
    options = MailOptions(TO, 1_000_000, sender=sender, to_send=to_send)
    (mail,) = compose(contents, options).mails
    assert (mail.message_id is not None) == to_send
    assert (b"X-Unsent: 1" in mail.content()) != to_send


def least_limit(contents: Contents) -> int:
    """Of one mail that holds all the contents."""
    low, high = 100_000, 300_000
    while low < high:
        middle = (low + high) // 2
        fits = len(compose(contents, MailOptions(TO, middle)).mails) == 1
        low, high = (low, middle) if fits else (middle + 1, high)
    return low


def test_a_session_goes_along_if_it_would_fit_as_a_track(tmp_path: Path) -> None:
    contents = read_contents(folder_of(tmp_path, [50_000], session=50_000), Choice())
    limit = least_limit(replace(contents, items=contents.items + contents.sessions, sessions=()))
    with_it = compose(contents, MailOptions(TO, limit))
    without = compose(contents, MailOptions(TO, limit - 1))
    assert (len(names(with_it)), len(names(without))) == (2, 1)


def test_a_title_of_ten_thousand_characters_and_lines_becomes_a_short_subject(
    tmp_path: Path,
) -> None:
    out = folder_of(tmp_path, [100], title="<script>\r\nBcc: other@example.org " * 300)
    (mail,) = composed(out).mails
    assert len(mail.letter.subject) == 120
    assert mail.letter.subject.startswith("<script> Bcc: other@example.org <script>")
    assert b"\nBcc:" not in mail.content().split(b"\r\n\r\n")[0]
    assert "<script>" not in mail.letter.html
