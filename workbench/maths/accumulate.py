"""Sums over samples, in pieces that fit the processor's cache: the cost is linear and memory does not grow."""

from dataclasses import dataclass

import numpy as np

from workbench.model.arrays import FloatArray, IntArray

PIECE = 32768


@dataclass(frozen=True, eq=False)
class NormalSums:
    """Weighted normal equations of samples that each touch the same few nodes of one rectangle.

    Attributes:
        square: A' W A, shape (cells, cells).
        right: A' W y, shape (cells,).
        total: y' W y.
        weight: sum of node weight times sample weight per cell, shape (cells,).
    """

    square: FloatArray
    right: FloatArray
    total: float
    weight: FloatArray


def normal_sums(cell: IntArray, share: FloatArray, weight: FloatArray, y: FloatArray, cells: int) -> NormalSums:
    """Accumulate the normal equations.

    A sample's first node names its rectangle, so pair sums are kept per rectangle and scattered once at the end.

    Args:
        cell: flat cell index of every node, shape (samples, nodes); the offsets between the nodes of a row are the
            same in all rows that share their first node.
        share: coefficient of every node, same shape.
        weight: weight of every sample, shape (samples,).
        y: right side of every sample, shape (samples,).
        cells: number of cells.
    """
    samples, nodes = cell.shape
    pairs = [(p, q) for p in range(nodes) for q in range(p, nodes)]
    pair_sums = np.zeros((len(pairs), cells))
    right_sums = np.zeros((nodes, cells))
    share_sums = np.zeros((nodes, cells))
    total = 0.0
    other = np.zeros((nodes, cells), dtype=np.int64)
    for start in range(0, samples, PIECE):
        piece = slice(start, start + PIECE)
        rectangle, part, w = cell[piece, 0], share[piece], weight[piece]
        wy = w * y[piece]
        total += float(wy @ y[piece])
        columns = [np.ascontiguousarray(part[:, p]) for p in range(nodes)]
        weighted = [w * column for column in columns]
        for index, (p, q) in enumerate(pairs):
            pair_sums[index] += np.bincount(rectangle, weighted[p] * columns[q], cells)
        for p in range(nodes):
            right_sums[p] += np.bincount(rectangle, wy * columns[p], cells)
            share_sums[p] += np.bincount(rectangle, weighted[p], cells)
            other[p, rectangle] = cell[piece, p]
    square, right, amount = np.zeros((cells, cells)), np.zeros(cells), np.zeros(cells)
    for index, (p, q) in enumerate(pairs):
        np.add.at(square, (other[p], other[q]), pair_sums[index])
        if p != q:
            np.add.at(square, (other[q], other[p]), pair_sums[index])
    for p in range(nodes):
        np.add.at(right, other[p], right_sums[p])
        np.add.at(amount, other[p], share_sums[p])
    return NormalSums(square, right, total, amount)
