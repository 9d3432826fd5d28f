"""Which value stands in each cell of a log on its rows: what was left out, what is held, and what is held too long."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from workbench.files.gaps.blank_zeros import with_blank_zeros
from workbench.files.gaps.on_change import Held, hold_what_is_written_on_change
from workbench.files.gaps.seldom_read import LONG, only_as_read
from workbench.files.gaps.standing_end import without_standing_end
from workbench.files.vocabulary.recording import Field
from workbench.model.arrays import FloatArray
from workbench.model.log import Role


def let_stand(fields: Sequence[Field], time: FloatArray, roles: Mapping[Role, str], stated: Mapping[str, str]) -> Held:
    """Fill what is empty for a reason, hold what is written on change, and let nothing stand longer than it was true.

    Args:
        fields: columns of numbers.
        time: s, shape (rows,).
        roles: role -> channel, as the user stated.
        stated: channel -> how it is written, or its unit, where the user said so.
    """
    filled, notes = with_blank_zeros(fields)
    held = without_standing_end(hold_what_is_written_on_change(filled, stated), time)
    held = only_as_read(held, time, [name for role, name in roles.items() if role in LONG])
    return replace(held, notes=[*notes, *held.notes])
