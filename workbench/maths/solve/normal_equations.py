"""Sums over samples, in pieces that fit the processor's cache: the cost is linear and memory does not grow."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from workbench.maths.solve.arrow_matrix import DENSE, ArrowMatrix, nearby, on_diagonal
from workbench.maths.solve.design import Design, Equations, NuisanceEffect, Shifts
from workbench.maths.table.interpolation import PIECE
from workbench.model.arrays import FloatArray, IntArray
from workbench.work import may_stop

if TYPE_CHECKING:
    from scipy.sparse import csr_array

    from workbench.maths.solve.arrow_matrix import Corner


@dataclass(frozen=True, eq=False)
class NormalSums:
    """Weighted normal equations for how far the multipliers are from 1, then further effects, then shifts.

    Solving for the departure from 1 keeps the sums small, so that nothing is lost in their differences.

    Attributes:
        square: A' W A, of (cells + effects + shifts) unknowns.
        right: A' W y, shape (cells + effects + shifts,), y being the ratio less what multipliers of 1 say.
        total: y' W y.
        weight: sum over the samples of weight times what multipliers of 1 say.
    """

    square: ArrowMatrix
    right: FloatArray
    total: float
    weight: float


class Entries(NamedTuple):
    """Entries of a matrix, each in its row and column once: shape (entries,) each; all others are 0."""

    row: IntArray
    column: IntArray
    value: FloatArray

    def filled(self, shape: tuple[int, int]) -> FloatArray:
        """Return the whole matrix of that shape."""
        found = np.zeros(shape)
        found[self.row, self.column] = self.value
        return found

    def sparse(self, shape: tuple[int, int]) -> "csr_array[np.float64, tuple[int, int]]":
        """Return the matrix of that shape, with what is not 0, row by row from left to right."""
        from scipy.sparse import csr_array

        felt = np.flatnonzero(self.value)
        felt = felt[np.lexsort((self.column[felt], self.row[felt]))]
        return csr_array((self.value[felt], (self.row[felt], self.column[felt])), shape=shape)


def normal_sums(equations: Equations, robust: FloatArray, piece: int = PIECE) -> NormalSums:
    """Accumulate the normal equations.

    Sums run from sample to sample over all pieces, so their size changes nothing, to the last bit, but in what is
    summed by dot products (the total, and effects among themselves and with the right side).

    A sample's first node names its rectangle, so the sums of all pairs of its nodes are kept per rectangle and put
    into their places once at the end.

    Args:
        equations: what the samples state.
        robust: by what each sample's weight is multiplied, shape (samples,).
        piece: samples at a time.
    """
    offsets = equations.design.spreader.offsets
    cells, nodes, effects = equations.design.spreader.cells, len(offsets), len(equations.effects)
    pairs = [(p, q) for p in range(nodes) for q in range(p, nodes)]
    pair_sums, crossed = np.zeros((len(pairs), cells)), np.zeros((effects, nodes, cells))
    right, right_of_effects = np.zeros((nodes, cells)), np.zeros(effects)
    corner: dict[tuple[int, int], float] = {}
    total = amount = 0.0
    shifted = None if equations.shifts is None else _ShiftSums(equations.shifts, equations.effects, nodes, cells)
    for rows, first, share in equations.design.pieces(piece):
        may_stop()
        weight = equations.weight[rows] * robust[rows]
        predicted = _total(share)
        y = equations.ratio[rows] - predicted
        weighted_y = weight * y
        total += float(weighted_y @ y)
        amount += float(weight @ predicted)
        weighted = [weight * each for each in share]
        product = np.empty(y.size)
        for index, (p, q) in enumerate(pairs):
            np.add.at(pair_sums[index], first, np.multiply(weighted[p], share[q], out=product))
        for p in range(nodes):
            np.add.at(right[p], first, np.multiply(weighted_y, share[p], out=product))
        moved = equations.moved(rows)
        near = np.array(list(moved), dtype=np.int64)
        for k, column in moved.items():
            right_of_effects[k] += float(weighted_y @ column)
            for p in range(nodes):
                np.add.at(crossed[k, p], first, np.multiply(weighted[p], column, out=product))
            np.multiply(weight, column, out=product)
            for other in equations.meeting(k, near):
                corner[k, other] = corner.get((k, other), 0.0) + float(product @ moved[other])
        if shifted is not None:
            shifted.add(rows, first, weight, weighted, weighted_y, moved)
    right_of_all = np.concatenate([_put(right, offsets), right_of_effects])
    border = np.array([_put(each, offsets) for each in crossed]).reshape(effects, cells)
    if shifted is not None:
        border = np.concatenate([border, [_put(each, offsets) for each in shifted.with_nodes()]])
        right_of_all = np.concatenate([right_of_all, shifted.right])
    square = replace(_near(pair_sums, pairs, offsets), border=border, corner=_corner(effects, corner, shifted))
    return NormalSums(square, right_of_all, total, amount)


def node_sums(design: Design, columns: Callable[[slice], Sequence[FloatArray]], count: int) -> FloatArray:
    """Sum columns over the samples around each cell, each sample counting by its share there.

    Args:
        design: which cells the samples speak of.
        columns: rows -> the columns' values there, shape (rows,) each.
        count: number of the columns.

    Returns:
        Shape (count, cells).
    """
    offsets, cells = design.spreader.offsets, design.spreader.cells
    sums = np.zeros((count, len(offsets), cells))
    for rows, first, share in design.pieces():
        product = np.empty(first.size)
        for k, column in enumerate(columns(rows)):
            for p, each in enumerate(share):
                np.add.at(sums[k, p], first, np.multiply(column, each, out=product))
    return np.array([_put(each, offsets) for each in sums]).reshape(count, cells)


def _total(parts: list[FloatArray]) -> FloatArray:
    total = parts[0] + parts[1]
    for part in parts[2:]:
        total += part
    return total


class _ShiftSums:
    """What the shifts of groups add to the normal equations; every group is one row of the matrix."""

    def __init__(self, shifts: Shifts, effects: Sequence[NuisanceEffect], nodes: int, cells: int) -> None:
        self._shifts, self._cells = shifts, cells
        self._crossed = np.zeros((nodes, (shifts.count + 1) * cells))
        self._right = np.zeros(shifts.count + 1)
        self._square = np.zeros(shifts.count + 1)
        # Of each effect: the first group that it meets, and its sums with those from there on, one place beside them.
        self._effects = [_places(shifts, effect) for effect in effects]

    def add(
        self,
        rows: slice,
        first: IntArray,
        weight: FloatArray,
        weighted: list[FloatArray],
        weighted_y: FloatArray,
        moved: dict[int, FloatArray],
    ) -> None:
        """Take in a piece of samples, as `normal_sums` has it: shares of the nodes and right sides weighted."""
        group, share = self._shifts.group[rows], self._shifts.share[rows]
        place = group * self._cells + first
        for node, each in enumerate(weighted):
            np.add.at(self._crossed[node], place, each * share)
        felt = weight * share
        np.add.at(self._square, group, felt * share)
        np.add.at(self._right, group, weighted_y * share)
        for k, column in moved.items():
            lowest, sums = self._effects[k]
            # Rows whose group it does not meet are beyond its reach, where it moves nothing, or have no group.
            np.add.at(sums, np.clip(group - lowest, -1, sums.size - 2), felt * column)

    def with_nodes(self) -> FloatArray:
        """Products with the nodes, by first node, shape (count, nodes, cells)."""
        nodes = self._crossed.shape[0]
        by_group: FloatArray = self._crossed.reshape(nodes, -1, self._cells)[:, :-1].swapaxes(0, 1)
        return by_group

    def with_effects(self) -> Entries:
        """Products with the further effects: group, effect and product of those that meet."""
        none = np.zeros(0, dtype=np.int64)
        group = np.concatenate([none, *(np.arange(low, low + sums.size - 2) for low, sums in self._effects)])
        effect = np.repeat(np.arange(len(self._effects)), [sums.size - 2 for _, sums in self._effects])
        return Entries(group, effect, np.concatenate([np.zeros(0), *(sums[:-2] for _, sums in self._effects)]))

    @property
    def square(self) -> FloatArray:
        """Products with themselves, shape (count,)."""
        return self._square[:-1]

    @property
    def right(self) -> FloatArray:
        """Products with the right sides, shape (count,)."""
        return self._right[:-1]


def _places(shifts: Shifts, effect: NuisanceEffect) -> tuple[int, FloatArray]:
    """Give the first group that an effect meets, and zeros for it and the groups up to the last, and two beside."""
    met = shifts.group[effect.first : effect.first + effect.moved.size]
    met = met[met < shifts.count]
    lowest, last = (int(met.min()), int(met.max())) if met.size else (0, -1)
    return lowest, np.zeros(last - lowest + 3)


def _corner(effects: int, among: dict[tuple[int, int], float], shifted: _ShiftSums | None) -> "Corner":
    """Put the square of the effects and that of the shifts together; sparse where there are very many of them."""
    row, column = np.array(list(among), dtype=np.int64).reshape(-1, 2).T
    square = Entries(row, column, np.array(list(among.values())))
    beside = Entries(row[:0], row[:0], np.zeros(0)) if shifted is None else shifted.with_effects()
    own = np.zeros(0) if shifted is None else shifted.square
    if effects + own.size <= DENSE:
        filled, below = square.filled((effects, effects)), beside.filled((own.size, effects))
        return np.block([[filled, below.T], [below, np.diag(own)]]) if own.size else filled
    from scipy.sparse import csr_array, hstack, vstack

    sparse = beside.sparse((own.size, effects))
    upper, lower = hstack([square.sparse((effects, effects)), sparse.T]), hstack([sparse, on_diagonal(own)])
    return csr_array(vstack([upper, lower]))


def _put(per_node: FloatArray, offsets: tuple[int, ...]) -> FloatArray:
    """Add what was summed by first node, shape (nodes, cells), to the cells of the nodes themselves, shape (cells,)."""
    cells = per_node.shape[1]
    found = np.zeros(cells)
    for sums, offset in zip(per_node, offsets, strict=True):
        found[offset:] += sums[: cells - offset]
    return found


def _near(pair_sums: FloatArray, pairs: list[tuple[int, int]], offsets: tuple[int, ...]) -> ArrowMatrix:
    """Put the sums of pairs of nodes, by first node, onto the diagonals of the matrix of all cells."""
    cells = pair_sums.shape[1]
    diagonals: dict[int, FloatArray] = {}
    for sums, (p, q) in zip(pair_sums, pairs, strict=True):
        low, apart = min(offsets[p], offsets[q]), abs(offsets[p] - offsets[q])
        # Two nodes of one sample that are the same cell count in both orders.
        times = 2.0 if apart == 0 and p != q else 1.0
        diagonals.setdefault(apart, np.zeros(cells))[low:] += times * sums[: cells - low]
    return nearby(diagonals)
