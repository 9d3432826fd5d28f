"""Symmetric positive systems of the solve: cells that join only near ones, bordered by effects that join all.

Small ones are factored densely, large ones along their band: for n cells and a reach of b that takes n b^2 steps
instead of n^3 / 3. Where there are more effects than cells, `effects_first` does it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from workbench.model.arrays import FloatArray

if TYPE_CHECKING:
    from scipy.sparse import csr_array

    Corner = FloatArray | csr_array[np.float64, tuple[int, int]]

DENSE = 200  # unknowns up to which dense factors are as quick


@dataclass(frozen=True, eq=False)
class ArrowMatrix:
    """A symmetric matrix whose last rows are full and whose others hold only a few diagonals.

    Attributes:
        apart: how far below the main diagonal each kept one lies, rising from 0.
        near: those diagonals, shape (diagonals, cells): near[k, j] is the entry (j + apart[k], j), 0 beyond the end.
        border: the last rows up to their own square, shape (effects, cells).
        corner: that square, shape (effects, effects); sparse where there are very many, most of which never meet.
    """

    apart: tuple[int, ...]
    near: FloatArray
    border: FloatArray
    corner: "Corner"

    @property
    def cells(self) -> int:
        """Count the unknowns that join only near ones."""
        return int(self.near.shape[1])

    @property
    def size(self) -> int:
        """Count the unknowns."""
        return self.cells + int(self.corner.shape[0])

    @property
    def diagonal(self) -> FloatArray:
        """The diagonal, shape (size,)."""
        return np.concatenate([self.near[0], self.corner.diagonal()])

    def raised(self, by: FloatArray) -> "ArrowMatrix":
        """Return the matrix with something of shape (size,) added to its diagonal."""
        near = self.near.copy()
        near[0] += by[: self.cells]
        if not isinstance(self.corner, np.ndarray):
            return replace(self, near=near, corner=_sum(self.corner, on_diagonal(by[self.cells :])))
        corner = self.corner.copy()
        corner[np.diag_indices_from(corner)] += by[self.cells :]
        return replace(self, near=near, corner=corner)

    def with_effects(self, own: FloatArray) -> "ArrowMatrix":
        """Return the matrix of the cells with effects that join nothing, own of shape (effects,) on their diagonal."""
        corner = np.diag(own) if own.size <= DENSE else on_diagonal(own)
        return replace(self, border=np.zeros((own.size, self.cells)), corner=corner)

    def band(self) -> FloatArray:
        """Return all diagonals down to the last kept one, shape (reach + 1, cells), laid out as LAPACK wants them."""
        whole = np.zeros((self.cells, self.apart[-1] + 1)).T
        for apart, diagonal in zip(self.apart, self.near, strict=True):
            whole[apart] = diagonal
        return whole

    def dense(self) -> FloatArray:
        """Return all entries, shape (size, size)."""
        cells = self.cells
        whole = np.zeros((self.size, self.size))
        whole[:cells, :cells] = dense_cells(self)
        whole[cells:, :cells], whole[:cells, cells:] = self.border, self.border.T
        whole[cells:, cells:] = filled(self.corner)
        return whole


def on_diagonal(own: FloatArray) -> "csr_array[np.float64, tuple[int, int]]":
    """Return a sparse square with nothing but its diagonal."""
    from scipy.sparse import csr_array, diags_array

    return csr_array(diags_array(own))


def filled(corner: "Corner") -> FloatArray:
    """Return a square with all its entries."""
    return corner if isinstance(corner, np.ndarray) else corner.toarray()


def nearby(diagonals: Mapping[int, FloatArray]) -> ArrowMatrix:
    """Return the matrix of cells alone, from how far below the main diagonal -> the entries there, shape (cells,) each.

    The main one, 0, must be among them.
    """
    apart = tuple(sorted(diagonals))
    near = np.stack([diagonals[each] for each in apart])
    return ArrowMatrix(apart, near, np.zeros((0, near.shape[1])), np.zeros((0, 0)))


def dense_cells(matrix: ArrowMatrix) -> FloatArray:
    """Return the square of the cells alone, shape (cells, cells)."""
    whole = np.zeros((matrix.cells, matrix.cells))
    for apart, diagonal in zip(matrix.apart, matrix.near, strict=True):
        at = np.arange(matrix.cells - apart)
        whole[at + apart, at] = whole[at, at + apart] = diagonal[: matrix.cells - apart]
    return whole


def of_cells(square: FloatArray) -> ArrowMatrix:
    """Return a matrix of cells that all join one another, from its square, shape (cells, cells)."""
    cells = square.shape[0]
    return nearby({apart: np.pad(np.diag(square, -apart), (0, apart)) for apart in range(cells)})


def _is_empty(corner: "Corner") -> bool:
    return not (corner.any() if isinstance(corner, np.ndarray) else corner.data.any())


def _times(factor: float, corner: "Corner") -> "Corner":
    if isinstance(corner, np.ndarray):
        return factor * corner
    from scipy.sparse import csr_array

    return csr_array(factor * corner)


def _sum(left: "Corner", right: "Corner") -> "Corner":
    if isinstance(left, np.ndarray) and isinstance(right, np.ndarray):
        return left + right
    from scipy.sparse import csr_array

    return csr_array(csr_array(left) + csr_array(right))


def combined(*terms: tuple[float, ArrowMatrix]) -> ArrowMatrix:
    """Add matrices of one size, each multiplied by a number."""
    first = terms[0][1]
    apart = tuple(sorted({each for _, term in terms for each in term.apart}))
    near, border, corner = np.zeros((len(apart), first.cells)), np.zeros_like(first.border), _times(0.0, first.corner)
    for factor, term in terms:
        for each, diagonal in zip(term.apart, term.near, strict=True):
            near[apart.index(each)] += factor * diagonal
        if not _is_empty(term.corner) or term.border.any():  # a penalty has none, and they may be large
            border += factor * term.border
            corner = _sum(corner, _times(factor, term.corner))
    return ArrowMatrix(apart, near, border, corner)


def regular(matrix: ArrowMatrix) -> ArrowMatrix:
    """Hold unknowns without any equation at 0, hardly felt by the others, so that the matrix can be factored."""
    diagonal = matrix.diagonal
    scale = float(np.mean(diagonal)) or 1.0
    return matrix.raised(np.where(diagonal <= 1e-12 * scale, 1e-10 + 1e-14, 1e-14) * scale)


class DenseFactors:
    """All entries factored by Cholesky's method."""

    def __init__(self, matrix: ArrowMatrix) -> None:
        """Factor; raises LinAlgError where the matrix is not positive."""
        from scipy import linalg

        self._factor, _ = linalg.cho_factor(matrix.dense(), lower=True, overwrite_a=True, check_finite=False)

    def solve(self, right: FloatArray) -> FloatArray:
        """Return x of matrix x = right, shape (size,)."""
        from scipy import linalg

        found: FloatArray = linalg.cho_solve((self._factor, True), right, check_finite=False)
        return found

    def explained(self, right: FloatArray) -> float:
        """Return right' matrix^-1 right."""
        return float(right @ self.solve(right))

    def log_determinant(self) -> float:
        """Return the logarithm of the determinant."""
        return 2 * float(np.sum(np.log(np.diag(self._factor))))

    def inverse_diagonal(self) -> FloatArray:
        """Return the diagonal of the inverse, shape (size,)."""
        from scipy import linalg

        inverse, _ = linalg.lapack.dpotri(self._factor, lower=1)
        return np.diag(inverse).copy()


class BandFactors:
    """The band factored by Cholesky's method within itself, the effects through their Schur complement."""

    def __init__(self, matrix: ArrowMatrix) -> None:
        """Factor; raises LinAlgError where the matrix is not positive."""
        from scipy import linalg

        self._border = matrix.border
        factor = linalg.cholesky_banded(matrix.band(), overwrite_ab=True, lower=True, check_finite=False)
        self._factor: FloatArray = np.asfortranarray(factor)
        rest = filled(matrix.corner)
        if rest.size:
            half = _half_solved(self._factor, matrix.border.T)
            rest = linalg.cholesky(rest - half.T @ half, lower=True, check_finite=False)
        self._corner = rest

    def within(self, right: FloatArray) -> FloatArray:
        """Return x of the cells' own square x = right, of as many columns."""
        from scipy import linalg

        found: FloatArray = linalg.cho_solve_banded((self._factor, True), right, check_finite=False)
        return found

    def _at_corner(self, right: FloatArray) -> FloatArray:
        from scipy import linalg

        found: FloatArray = linalg.cho_solve((self._corner, True), right, check_finite=False)
        return found

    def solve(self, right: FloatArray) -> FloatArray:
        """Return x of matrix x = right, shape (size,)."""
        cells = self._factor.shape[1]
        alone = self.within(right[:cells])
        if not self._corner.size:
            return alone
        effects = self._at_corner(right[cells:] - self._border @ alone)
        return np.concatenate([self.within(right[:cells] - effects @ self._border), effects])

    def explained(self, right: FloatArray) -> float:
        """Return right' matrix^-1 right."""
        cells = self._factor.shape[1]
        alone = self.within(right[:cells])
        found = float(right[:cells] @ alone)
        if self._corner.size:
            rest = right[cells:] - self._border @ alone
            found += float(rest @ self._at_corner(rest))
        return found

    def log_determinant(self) -> float:
        """Return the logarithm of the determinant."""
        return 2 * float(np.sum(np.log(self._factor[0])) + np.sum(np.log(np.diag(self._corner))))

    def inverse_of_effects(self) -> FloatArray:
        """Return the effects' block of the inverse, shape (effects, effects)."""
        return self._at_corner(np.eye(self._corner.shape[0]))

    def inverse_diagonal(self) -> FloatArray:
        """Return the diagonal of the inverse, shape (size,)."""
        alone = _inverse_diagonal_of_band(self._factor)
        if not self._corner.size:
            return alone
        effects = self.inverse_of_effects()
        carried = self.within(self._border.T)  # how much of each cell an effect carries along
        return np.concatenate([alone + np.sum(carried @ effects * carried, axis=1), np.diag(effects)])


def _half_solved(factor: FloatArray, right: FloatArray) -> FloatArray:
    """Return L^-1 right from the lower diagonals of L, by blocks, for all columns of right (cells, columns) at once."""
    from scipy import linalg

    cells, size = factor.shape[1], _block_size(factor)
    found = np.empty(right.shape)
    for start in range(0, cells, size):
        stop = min(start + size, cells)
        rest = right[start:stop]
        if start:
            rest = rest - _block(factor, start, stop, start - size, start) @ found[start - size : start]
        found[start:stop], _ = linalg.lapack.dtrtrs(_block(factor, start, stop, start, stop), rest, lower=1)
    return found


def _block_size(factor: FloatArray) -> int:
    """Return how many cells a block holds: as many as the band reaches, so that only neighbouring blocks touch."""
    return max(int(factor.shape[0]) - 1, 64)


def _inverse_diagonal_of_band(factor: FloatArray) -> FloatArray:
    """Return the diagonal of the inverse of L L', from the lower diagonals of L, without the inverse.

    Takahashi's recursion (Takahashi, Fagan and Chen 1973; from memory) by blocks as wide as the band reaches, from the
    last to the first: with D and O the blocks of L on and below the diagonal, the inverse's block on the diagonal is
    D'^-1 (1 + O' Z O) D^-1, Z being the one after it.
    """
    from scipy import linalg

    size, cells = _block_size(factor), factor.shape[1]
    found = np.empty(cells)
    after: FloatArray = np.zeros((0, 0))
    for start in range((cells - 1) // size * size, -1, -size):
        stop = min(start + size, cells)
        block, below = (
            _block(factor, start, stop, start, stop),
            _block(factor, stop, min(stop + size, cells), start, stop),
        )
        inner = np.eye(stop - start) + below.T @ after @ below
        half = linalg.solve_triangular(block, inner, trans="T", lower=True, check_finite=False)
        after = linalg.solve_triangular(block, half.T, trans="T", lower=True, check_finite=False)
        found[start:stop] = np.diag(after)
    return found


def _block(factor: FloatArray, row: int, row_end: int, column: int, column_end: int) -> FloatArray:
    """Cut a block on or just below the diagonal out of a lower triangle kept by diagonals in columns.

    The entry (i, j) of the triangle lies at j * reach + i of the factor's memory as long as the band holds it. What
    that names elsewhere is something else: below the diagonal it is put to 0, on it nobody looks above the triangle.
    """
    reach = factor.shape[0] - 1
    shape = (row_end - row, column_end - column)
    if reach < _block_size(factor):
        apart = np.arange(row, row_end)[:, None] - np.arange(column, column_end)
        held = (apart >= 0) & (apart <= reach)
        columns = np.broadcast_to(np.arange(column, column_end), shape)
        return np.where(held, factor[np.where(held, apart, 0), columns], 0.0)
    step = factor.itemsize
    memory = factor.T.reshape(-1)[column * reach + row :]
    seen = np.lib.stride_tricks.as_strided(memory, shape, (step, reach * step), writeable=False)
    return seen if row == column else np.triu(seen)
