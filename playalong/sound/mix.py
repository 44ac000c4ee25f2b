"""Stems become one sound: layers add, never overwrite."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from playalong.errors import PlayalongError

Blocks = Iterable[NDArray[np.float32]]


class MixError(PlayalongError):
    """Stems that do not make one sound."""


def mix(stems: Sequence[Blocks], gain: float) -> Iterator[NDArray[np.float32]]:
    """Sum of mono stems times a linear gain, block by block; each block has shape (frames,).

    Raises MixError if there is no stem, or if the stems' blocks differ in number or length.
    """
    if not stems:
        raise MixError("a mix takes at least one stem")
    for layers in _in_step(stems):
        yield np.asarray(np.stack(layers).sum(axis=0) * gain, np.float32)


def split(guide: Blocks, others: Sequence[Blocks], gain: float) -> Iterator[NDArray[np.float32]]:
    """The guide in the left ear, all else in the right; each block has shape (frames, 2)."""
    for ears in _in_step([mix([guide], gain), mix(others, gain)]):
        yield np.stack(ears, axis=1)


def _in_step(stems: Sequence[Blocks]) -> Iterator[tuple[NDArray[np.float32], ...]]:
    """The stems' blocks side by side; a stem that ends early or slips is an error."""
    for number, layers in enumerate(itertools.zip_longest(*stems)):
        lengths = [0 if layer is None else len(layer) for layer in layers]
        if len(set(lengths)) > 1:
            listed = ", ".join(map(str, lengths))
            raise MixError(f"stems differ in length at block {number}: {listed} frames")
        yield layers
