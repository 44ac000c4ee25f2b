import numpy as np
import pytest

from playalong.sound.mix import MixError, mix, split


def blocks(values, frames=2):
    sound = np.array(values, np.float32)
    return [sound[start : start + frames] for start in range(0, len(sound), frames)]


def joined(stream):
    return np.concatenate(list(stream))


def test_layers_add_and_never_overwrite():
    stems = [blocks([0.5, 0.25, 0.0, 0.125]), blocks([0.25, 0.25, 0.5, -0.125])]
    mixed = joined(mix(stems, gain=0.5))
    assert mixed.dtype == np.float32
    assert mixed.tolist() == [0.375, 0.25, 0.25, 0.0]


def test_guide_is_in_the_left_ear_and_all_else_in_the_right():
    guide, drone, click = blocks([1, 2, 3]), blocks([10, 20, 30]), blocks([100, 200, 300])
    ears = joined(split(guide, [drone, click], gain=2.0))
    assert ears.dtype == np.float32
    assert ears.tolist() == [[2, 220], [4, 440], [6, 660]]


def test_both_ears_together_are_the_mix():
    random = np.random.default_rng(1)
    stems = [blocks(random.uniform(-0.3, 0.3, 1000), 64) for _ in range(3)]
    ears = joined(split(stems[0], stems[1:], gain=0.7))
    assert ears.sum(axis=1) == pytest.approx(joined(mix(stems, gain=0.7)), abs=1e-6)


def test_stems_are_taken_a_block_at_a_time():
    taken = []

    def stem(name):
        for number in range(3):
            taken.append((number, name))
            yield np.zeros(4, np.float32)

    next(mix([stem("a"), stem("b")], gain=1.0))
    assert taken == [(0, "a"), (0, "b")]


@pytest.mark.parametrize("other", [[1, 2, 3], [1, 2], [1, 2, 3, 4, 5]])
def test_stems_of_different_length_are_refused(other):
    with pytest.raises(
        MixError, match=r"stems differ in length at block [12]: (2, [01]|0, 1) frames"
    ):
        joined(mix([blocks([1, 2, 3, 4]), blocks(other)], gain=1.0))
    with pytest.raises(MixError, match="stems differ in length at block"):
        joined(split(blocks([1, 2, 3, 4]), [blocks(other)], gain=1.0))


def test_stems_cut_differently_are_refused():
    with pytest.raises(MixError, match="stems differ in length at block 0: 2, 3 frames"):
        joined(mix([blocks([1, 2, 3, 4, 5, 6], 2), blocks([1, 2, 3, 4, 5, 6], 3)], gain=1.0))


def test_no_stem_is_refused():
    with pytest.raises(MixError, match="a mix takes at least one stem"):
        joined(mix([], gain=1.0))
