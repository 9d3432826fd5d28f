"""What the trims of a log add to the fuel, bank by bank and for both loops, and which mixture the closed loop holds."""

import re

import numpy as np

from workbench.maths.signals.resync import played
from workbench.maths.signals.series import filled
from workbench.model.arrays import BoolArray, FloatArray
from workbench.model.log import Log, Role

ASKED = 0.006  # of lambda: nearer to 1 are rounding, and fuels a little apart, common practice, no source
IN_LOOP = 0.1  # of lambda; what reads farther from what may be held is no closed loop
FEWEST_ROWS = 100
_IN_BANK = re.compile(r"(?<![a-z])(?:bank|banc|banco|bk|b)[ _.#-]*([12])(?![0-9])", re.IGNORECASE)
UNNAMED = (2 / 3) ** 0.5  # a wideband of no named bank is in the first, the second or behind both, each as likely


def fuel_factor(stft: FloatArray, ltft: FloatArray) -> FloatArray:
    """Combine short and long trim of one bank, both in percent, to the factor on the injected fuel."""
    return (1 + stft / 100) * (1 + ltft / 100)


def read_at(raw: list[FloatArray], rows: int) -> BoolArray:
    """Mark the rows that bring a short-term trim of their own."""
    read = np.zeros(rows, dtype=np.bool_)
    for values in raw:
        read |= np.isfinite(values)
    return read


def trims_of(log: Log) -> tuple[FloatArray, list[FloatArray], FloatArray, list[FloatArray]]:
    """Return the fuel factor, mean and of each bank that has trims, the short trim, the raw channels."""
    banks, shorts, raw = [], [], []
    banks_of_roles: tuple[tuple[Role, Role], ...] = (("stft_1", "ltft_1"), ("stft_2", "ltft_2"))
    for short_role, long_role in banks_of_roles:
        short, long = played(log, short_role), _long_trim(log, long_role)
        if short is None and (long is None or _any_short(log)):  # a long trim alone says little beside a whole bank
            continue
        if short is not None and (logged := log.playing(short_role)) is not None:
            raw.append(logged)
            shorts.append(short)
        zero = np.zeros(log.rows)
        banks.append(fuel_factor(zero if short is None else short, zero if long is None else long))
    short_trim = np.full(log.rows, np.nan)
    if shorts:
        stack = np.stack(shorts)
        largest = np.argmax(np.nan_to_num(np.abs(stack), nan=-1.0), axis=0)
        short_trim = np.take_along_axis(stack, largest[None], axis=0)[0]
    return np.mean(banks, axis=0) if banks else np.ones(log.rows), banks, short_trim, raw


def imbalance(banks: list[FloatArray], closed: BoolArray) -> float:
    """Give the mean difference of the banks' fuel factors in closed loop; NaN where there is none."""
    if len(banks) < 2 or not np.any(closed & np.isfinite(banks[1] - banks[0])):
        return float("nan")
    return float(np.nanmean((banks[1] - banks[0])[closed]))


def beside_mean(log: Log, banks: list[FloatArray], closed: BoolArray) -> tuple[FloatArray | float, FloatArray | float]:
    """Tell what a wideband that sits in one bank sees beside the mean of both.

    Both banks breathe through one table. What closed loop shows that one of them wants more fuel than their mean is the
    bank's own (its injectors, its share of the air), and is taken out; where trims act that differ otherwise than that,
    or none do, the wideband's bank is leaner or richer than the engine.

    Args:
        log: for the name of the wideband, which tells its bank.
        banks: fuel factor of each bank, shape (rows,) each.
        closed: rows in closed loop.

    Returns:
        By what the fuel that the wideband sees is more than the mean of the banks, shape (rows,), 1 where its bank is
        not named; and how far its reading may be off for want of that name, standard deviation, as a ratio.
    """
    name = log.roles.get("lambda_measured", "")
    if len(banks) < 2 or not name:
        return 1.0, 0.0
    found = _IN_BANK.search(name)
    share = filled(banks[int(found[1]) - 1 if found else 0]) / filled((banks[0] + banks[1]) / 2)
    known = closed & np.isfinite(banks[0] + banks[1])
    if np.count_nonzero(known) < FEWEST_ROWS:
        return 1.0, 0.0
    share = share / float(np.mean(share[known]))
    return (share, 0.0) if found else (1.0, np.where(closed, 0.0, UNNAMED * np.abs(share - 1)))


def logged_trims(log: Log) -> FloatArray:
    """Return the log of the factors on the fuel that the trims stand for, mean over banks, shape (rows, 2)."""
    found = np.zeros((log.rows, 2))
    kinds: tuple[tuple[Role, Role], ...] = (("stft_1", "stft_2"), ("ltft_1", "ltft_2"))
    for column, roles in enumerate(kinds):
        banks = [values for role in roles if (values := played(log, role)) is not None and np.isfinite(values).any()]
        if banks:
            found[:, column] = np.mean([np.log1p(np.clip(filled(each), -90.0, None) / 100) for each in banks], axis=0)
    return found


def loop_action(each_trim: FloatArray, fuel: FloatArray) -> FloatArray:
    """Return the log of the factor by which the loop itself acts: of the short trim, or of all where it is not logged.

    Args:
        each_trim: what `logged_trims` gives, shape (rows, 2).
        fuel: fuel factor, shape (rows,).
    """
    return each_trim[:, 0] if np.any(each_trim[:, 0]) else np.log(fuel)


def _any_short(log: Log) -> bool:
    return any(log.playing(role) is not None for role in ("stft_1", "stft_2"))


def _long_trim(log: Log, role: Role) -> FloatArray | None:
    values = log.playing(role)
    return values if values is None or np.isfinite(values).all() else played(log, role)


def held_by_loop(commanded: FloatArray, measured: FloatArray, closed: BoolArray) -> FloatArray:
    """Return the lambda that closed loop holds, shape (rows,): the command, or 1 throughout.

    A sensor that only tells rich from lean holds 1 and nothing else, and the ECU reports a command of 1 while it does;
    with a wide-range sensor in its loop it holds, and reports, other commands as well (SAE J1979, PID 44, from memory).
    Where a wideband reads while another is commanded, it tells which of both, however far that is from 1; without one a
    command other than 1 is taken for one that is held.

    Args:
        commanded: lambda that the ECU asked for, NaN where unknown, shape (rows,).
        measured: wideband lambda, NaN where there is none, shape (rows,).
        closed: rows in closed loop, without those of a fuel cut.
    """
    asked = closed & np.isfinite(commanded) & (commanded > 0) & (np.abs(commanded - 1) > ASKED)
    held = np.where(asked, commanded, 1.0)
    off_command, off_one = np.abs(measured - held), np.abs(measured - 1)
    read = asked & (np.minimum(off_command, off_one) < IN_LOOP)
    if np.count_nonzero(read) < FEWEST_ROWS:
        return held
    return held if float(np.mean(off_command[read])) < float(np.mean(off_one[read])) else np.ones(commanded.size)
