"""Files that no notation program writes: one sentence each, quickly, and nothing fetched."""

from __future__ import annotations

import io
import re
import time
import tracemalloc
import zipfile
from pathlib import Path

import pytest
from small_scores import HEAD, bar, line, numbered, read_through, score

from playalong.errors import PlayalongError
from playalong.passage.container import CONTAINER, score_bytes
from playalong.passage.reading import all_parts

GOOD = score(*numbered(line("A4 B4 C5 D5")))
BOX = '<container><rootfiles><rootfile full-path="{}"/></rootfiles></container>'
MOST_SECONDS, MOST_BYTES = 2.0, 300 * 1024 * 1024


def doctype(inside: str) -> str:
    return GOOD.replace(HEAD, f"{HEAD}<!DOCTYPE score-partwise [{inside}]>")


def packed(members: dict[str, bytes], kind: int = zipfile.ZIP_DEFLATED) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", kind) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return stream.getvalue()


def mxl(content: bytes, name: str = "music.xml", kind: int = zipfile.ZIP_DEFLATED) -> bytes:
    return packed({CONTAINER: BOX.format(name).encode(), name: content}, kind)


LAUGHS = "".join(f'<!ENTITY a{n + 1} "{f"&a{n};" * 10}">' for n in range(9))
WHOLE = mxl(GOOD.encode())
HOSTILE = {
    "an external entity": (
        doctype('<!ENTITY x SYSTEM "file:///etc/passwd">').replace("A Test", "&x;").encode(),
        "declares XML entities",
    ),
    "an entity bomb": (doctype('<!ENTITY a0 "ha">' + LAUGHS).encode(), "declares XML entities"),
    "an undeclared entity": (GOOD.replace("A Test", "&x;").encode(), "damaged at line 2"),
    "half a score": (GOOD[: len(GOOD) // 2].encode(), "breaks off or is damaged at line 2"),
    "nothing": (b"", "this is no score: it is empty"),
    "a picture": (b"\x89PNG\r\n\x1a\n\0", "what is in it is not XML"),
    "a drill": (b'title = "T"', "no score that can be read"),
    "a page": (b"<html></html>", "no MusicXML score: it begins with <html>"),
    "an unknown encoding": (b'<?xml version="1.0" encoding="klingon"?><a/>', "no score"),
    "a zip bomb": (mxl(b" " * (65 * 1024 * 1024)), "unpacks to more than 64 MB"),
    "half a .mxl": (WHOLE[: len(WHOLE) // 2], "not a whole zip file"),
    "a .mxl of many": (packed({f"{n}": b"" for n in range(300)}), "more than 200 files"),
    "a .mxl that names nothing": (packed({"music.xml": GOOD.encode()}), f'holds no "{CONTAINER}"'),
    "a .mxl that names what it has not": (
        packed({CONTAINER: BOX.format("../../x").encode()}),
        'holds no "../../x"',
    ),
    "a .mxl packed otherwise": (
        mxl(GOOD.encode(), kind=zipfile.ZIP_LZMA),
        "packed in a way that MusicXML does not know",
    ),
    "a deep one": (GOOD.replace("A Test", "<a>" * 5000 + "</a>" * 5000).encode(), "nests deeper"),
    "a bar of a million": (score(bar("<x/>" * 1_000_000)).encode(), "more than any piece"),
    "a million bars": (score("<measure/>" * 1_000_000).encode(), "more than any piece"),
    "a word of megabytes": (GOOD.replace("A Test", "x" * 4_000_000).encode(), "than a megabyte"),
    "a tag of megabytes": (
        GOOD.replace(
            "<work>", "<work " + "".join(f'a{n}="" ' for n in range(400_000)) + ">"
        ).encode(),
        "than a megabyte",
    ),
    "no divisions": (GOOD.replace("<divisions>4<", "<divisions>0<").encode(), "no length"),
    "a length in words": (GOOD.replace("<duration>4<", "<duration>x<").encode(), "is no number"),
    "an endless note": (GOOD.replace("<duration>4<", "<duration>9999999<").encode(), "no length"),
    "no pitch": (GOOD.replace("<step>A<", "<step>Q<").encode(), "no readable pitch"),
    "many sharps": (GOOD.replace("<alter>0<", "<alter>99<").encode(), "99 sharps or flats"),
}


@pytest.mark.parametrize("what", HOSTILE)
def test_a_hostile_score_is_refused_in_one_sentence(what: str, tmp_path: Path) -> None:
    content, expected = HOSTILE[what]
    path = tmp_path / "score.mxl"
    path.write_bytes(content)
    tracemalloc.start()
    began = time.process_time()
    with pytest.raises(PlayalongError, match=re.escape(expected)) as refused:
        read_through(score_bytes(path))
    seconds, (_, peak_bytes) = time.process_time() - began, tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert expected in str(refused.value)
    assert "\n" not in str(refused.value)
    assert len(str(refused.value)) < 200
    assert peak_bytes < MOST_BYTES
    assert seconds < 4 * MOST_SECONDS  # tracemalloc makes it several times slower


def test_what_is_whole_is_read_from_a_mxl_by_the_name_in_its_container(tmp_path: Path) -> None:
    path = tmp_path / "score.mxl"
    members = {"other.xml": b"<html/>", CONTAINER: BOX.format("in/it.xml").encode()}
    path.write_bytes(packed({**members, "in/it.xml": GOOD.encode()}))
    (part,) = all_parts(score_bytes(path))
    assert [n.pitch.name for n in part.bars[0].notes if n.pitch] == ["A4", "B4", "C5", "D5"]


def test_a_plain_doctype_is_no_hostility() -> None:
    public = (
        '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" "x.dtd">'
    )
    assert len(all_parts(GOOD.replace(HEAD, HEAD + public).encode())) == 1


def test_a_score_in_utf_16_is_read() -> None:
    text = GOOD.replace('encoding="UTF-8"', 'encoding="UTF-16"').replace("A Test", "Übung")
    (part,) = all_parts(text.encode("utf-16"))
    assert part.title == "Übung"


def test_a_score_without_music_is_told() -> None:
    with pytest.raises(PlayalongError, match="the score holds no music"):
        all_parts(score().encode())
