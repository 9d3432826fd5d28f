"""All shapes of the field, family by family."""

from field import (
    afield,
    amounts,
    books,
    codes,
    decoys,
    drawn,
    headers,
    hopeless,
    own_times,
    roadside,
    tables,
    times,
    trade,
)
from field.shape import Shape

FAMILIES = (
    times.SHAPES, own_times.SHAPES, codes.SHAPES, amounts.SHAPES, headers.SHAPES, decoys.SHAPES, books.SHAPES,
    tables.SHAPES, hopeless.SHAPES, trade.SHAPES, drawn.SHAPES, afield.SHAPES,
    roadside.SHAPES,
)  # fmt: skip


def all_shapes() -> list[Shape]:
    """Give every shape, in the order of the families."""
    return [shape for family in FAMILIES for shape in family.shapes]
