"""The public interface: the examples of DEVELOPERS.md run, and wrong use is told in a sentence."""

import os
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

import playalong
from playalong.errors import PlayalongError

ROOT = Path(__file__).parents[1]
EXAMPLES = re.findall(
    r"^```python\n(.*?)^```", (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8"), re.S | re.M
)
TEXT = 'title = "T"\ninstrument = "violin"\nbar = "p1: 1 2 3 1 p3: 1 2 p1: 2 1"\n'


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda text: text.splitlines()[0][:40])
def test_every_example_runs_as_it_stands(
    example: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for drill in (ROOT / "demo").glob("0[14]-*.toml"):
        (tmp_path / drill.name).write_bytes(drill.read_bytes())
    monkeypatch.chdir(tmp_path)
    exec(compile(example, "DEVELOPERS.md", "exec"), {})


def test_there_are_examples() -> None:
    assert len(EXAMPLES) >= 4


def test_every_name_of_the_interface_is_there_and_no_other() -> None:
    for name in playalong.__all__:
        assert getattr(playalong, name) is not None
    with pytest.raises(AttributeError, match="playalong has no 'lod'"):
        playalong.lod  # noqa: B018


def test_asking_for_the_package_alone_loads_nothing_heavy() -> None:
    code = "import sys, playalong; print(sorted({'numpy', 'mido', 'typer'} & set(sys.modules)))"
    ran = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, env=os.environ
    )
    assert ran.stdout.strip() == "[]"


def test_a_performance_renders_to_samples_at_the_target_loudness() -> None:
    from pyloudnorm import Meter

    performance = playalong.perform(playalong.write(playalong.parse(TEXT)))
    samples = playalong.render(performance)
    assert (samples.dtype, samples.ndim) == (np.float32, 1)
    assert len(samples) / 44100 == pytest.approx(performance.seconds)
    meter = Meter(44100, filter_class="DeMan")
    assert meter.integrated_loudness(samples.astype(float)) == pytest.approx(-18, abs=0.5)


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        (lambda d: playalong.load("no-such.toml"), "there is no such file"),
        (lambda d: playalong.parse(""), "the file holds no setting"),
        (lambda d: playalong.write(d, "H major"), '"H major" is not a key'),
        (lambda d: playalong.write(d, "C major", "C"), 'violin has no "C" string'),
        (lambda d: playalong.perform(playalong.write(d), 19), "bpm = 19 is not a whole number"),
        (lambda d: playalong.perform(playalong.write(d), 60.5), "bpm = 60.5 is not a whole"),
        (lambda d: playalong.perform(playalong.write(d), 60, "lisen"), 'mean "listen"'),
        (
            lambda d: playalong.perform(playalong.write(d), stands=slice(1, None)),
            "the climb has 1 starting positions, none of these",
        ),
        (
            lambda d: playalong.render(playalong.perform(playalong.write(d)), Path("no.sf2")),
            "no.sf2 cannot be found",
        ),
        (
            lambda d: playalong.Options(format="mp4"),
            'unknown audio format "mp4"; did you mean "mp3"',
        ),
        (lambda d: playalong.make(d, "never", jobs=0), "jobs = 0: at least one worker"),
        (lambda d: playalong.Variation(keys=("H",)).of(d), 'keys: "H" is not a key'),
        (lambda d: playalong.Timeline.from_json("{}"), "this is not a timeline"),
    ],
)
def test_wrong_use_raises_the_root_error_with_a_sentence(wrong, sentence: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(PlayalongError, match=sentence):
        wrong(playalong.parse(TEXT))
