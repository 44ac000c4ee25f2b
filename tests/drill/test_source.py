"""Reading a drill file takes little time and memory, whatever stands in it."""

import os
import time
from pathlib import Path

import pytest

from playalong.drill.load import load, parse
from playalong.drill.origin import DrillError
from playalong.drill.source import LARGEST_BYTES

HEAD = 'title = "x"\ninstrument = "violin"\n'
MOST_SECONDS = 2.0  # of the processor, for any file of the largest size


@pytest.mark.parametrize(
    ("text", "match"),
    [
        (HEAD + " " * 200_000 + '\nbar = "7"\n', "line 4: .*fingers are 0"),
        (HEAD + 'bar = """' + " |\n".join(["1 2 3 4 1 2 3 7"] * 8_000) + '"""\n', "line 3: "),
        (HEAD + "x" * 200_000 + '\nbar = "7"\n', "line 3: .*is not TOML"),
        (HEAD + "# " + "x" * 200_000 + '\nbar = "7"\n', "line 4: .*fingers are 0"),
        ("a." * 120_000 + "b = 1\n" + HEAD, "line 1: a name with so many dots"),
        (HEAD + "x = { " + "a . " * 60_000 + "b = 1 }\n", "line 3: a name with so many dots"),
        ("a = " + "[" * 100_000, "the brackets are nested too deep"),
        ("a = " + "{a = " * 40_000, "the brackets are nested too deep"),
        ("".join(f"[a{number}]\n" for number in range(30_000)), 'line 1: "a0" is not known here'),
        (HEAD + 'bar = "' + "(" * 200_000 + '"', "a bow is open already"),
        (HEAD + "a " + "= " * 100_000, "line 3: .*is not TOML"),
        (HEAD + 'bar = "1*8"\nkeys = [' + '"C major",' * 20_000 + "]", "has 20000 entries"),
    ],
    ids=lambda text: text[:30],
)
def test_the_largest_file_is_told_at_once(text: str, match: str) -> None:
    begun = time.process_time()
    with pytest.raises(DrillError, match=match):
        parse(text)
    assert time.process_time() - begun < MOST_SECONDS


def test_the_time_of_a_bar_of_many_lines_grows_as_its_lines_do() -> None:
    """Eight times the lines take about eight times as long, on any machine; by looking through all
    of them for each it would be 64."""

    def seconds(lines: int) -> float:
        text = HEAD + 'bar = """' + " |\n".join(["1 2 3 4 1 2 3 4"] * lines) + '"""\n'
        begun = time.process_time()
        assert parse(text).pattern.events[-1].origin.line == lines + 2
        return time.process_time() - begun

    assert seconds(4_000) < 20 * min(seconds(500) for _ in range(3))


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_a_pipe_or_a_device_is_not_waited_for(tmp_path: Path) -> None:
    pipe = tmp_path / "drill.toml"
    os.mkfifo(pipe)
    for path in (pipe, Path("/dev/zero")):
        with pytest.raises(DrillError, match="this is no file; a drill is read from a text file"):
            load(path)


def test_a_file_of_the_largest_size_is_read_and_one_byte_more_is_not(tmp_path: Path) -> None:
    file = tmp_path / "drill.toml"
    text = HEAD + 'bar = "1*8"\n'
    file.write_text(text + "#" * (LARGEST_BYTES - len(text)))
    assert load(file).title == "x"
    file.write_text(text + "#" * (LARGEST_BYTES - len(text) + 1))
    with pytest.raises(DrillError, match=f"has {LARGEST_BYTES + 1:,} bytes; a drill file has"):
        load(file)
