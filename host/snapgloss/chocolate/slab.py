"""Heat through a stack of thin layers, with heat set free inside: one dimension, explicit steps.

A stack is cells in a row between two airs. Conduction is central and explicit, so the step is
held under the limit of stability; what the cells set free by themselves (crystals) is asked for
after each step. Checked against Neumann's solution of freezing and an ODE solver.
"""

from collections.abc import Iterator
from typing import NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
STABLE_SHARE = 0.9
"""Of the longest step that an explicit scheme bears without swinging."""
STEP_MOST_S = 1.0


class Release(Protocol):
    """Heat that cells set free."""

    def step(self, dt_s: float, at_c: Floats) -> Floats:
        """Advance by `dt_s` at these temperatures (one per cell); return J/m2 per cell."""


class Layer(NamedTuple):
    """`cells` equal cells: thickness and conductivity, heat of the whole layer per area."""

    cells: int
    thickness_m: float
    w_per_m_k: float
    j_per_m2_k: float


class Stack(NamedTuple):
    """`links` in W/m2K: below, between neighbours, above (one more than cells); `j_per_m2_k`."""

    links: Floats
    j_per_m2_k: Floats

    @property
    def step_s(self) -> float:
        """The longest step that stays stable, at most 1 s."""
        edge = float(np.min(self.j_per_m2_k / (self.links[:-1] + self.links[1:])))
        return min(STEP_MOST_S, STABLE_SHARE * edge)


def stack_of(layers: list[Layer], below_w_per_m2_k: float, above_w_per_m2_k: float) -> Stack:
    """Return the cells of layers from below to above, with the films on either side."""
    half = np.concatenate(
        [np.full(one.cells, one.thickness_m / one.cells / one.w_per_m_k / 2) for one in layers]
    )
    heats = [np.full(one.cells, one.j_per_m2_k / one.cells) for one in layers]
    ends = (1 / below_w_per_m2_k + half[0], 1 / above_w_per_m2_k + half[-1])
    resistances = np.concatenate([[ends[0]], half[:-1] + half[1:], [ends[1]]])
    return Stack(1 / resistances, np.concatenate(heats))


def march(stack: Stack, start_c: Floats, air_c: float, release: Release) -> Iterator[Floats]:
    """Yield the cells' temperatures after each step of `stack.step_s`, without end.

    `start_c` one per cell; `air_c` on both sides. The yielded array is the caller's to keep.
    """
    dt_s, at_c = stack.step_s, np.array(start_c, dtype=float)
    padded = np.full(len(at_c) + 2, float(air_c))
    while True:
        padded[1:-1] = at_c
        upward = -stack.links * np.diff(padded)
        at_c = at_c + (upward[:-1] - upward[1:]) * dt_s / stack.j_per_m2_k
        at_c = at_c + release.step(dt_s, at_c) / stack.j_per_m2_k
        yield at_c
