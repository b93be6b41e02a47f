"""The table of reinforcers in words: a row each, a cell for easy and for difficult steps."""

from dataclasses import dataclass

from django.utils.translation import gettext

from pupilage.core.training.rewards.reinforcers import LEAST_SESSIONS, LEAST_TRIALS, OTHERWISE, Band, Comparison
from pupilage.reports.formatting import show_chance


@dataclass(frozen=True)
class ReinforcerCell:
    """What is said of a reinforcer in one band: the chance with it, and the small print."""

    chance: str
    small: tuple[str, ...]


@dataclass(frozen=True)
class ReinforcerRow:
    """A reinforcer, whether it is the usual one, and its two cells."""

    name: str
    usual: bool
    cells: tuple[ReinforcerCell, ...]


def reinforcer_rows(comparison: Comparison) -> list[ReinforcerRow]:
    """Return the rows, the most used reinforcer first."""
    return [
        ReinforcerRow(name, name == comparison.usual, tuple(_cell(comparison, name, band) for band in Band))
        for name in comparison.names
    ]


def _cell(comparison: Comparison, name: str, band: Band) -> ReinforcerCell:
    shift = comparison.of(name, band)
    if shift is None or not shift.enough:
        n, sessions = (0, 0) if shift is None else (shift.n, shift.n_sessions)
        have = gettext("has {n} of {need} tries, {sessions} of {need_sessions} sessions").format(
            n=n, need=LEAST_TRIALS, sessions=sessions, need_sessions=LEAST_SESSIONS
        )
        return ReinforcerCell(gettext("not enough yet"), (have,))
    if not comparison.compares:
        met = gettext("{met} of {n} met").format(met=round(shift.n * (shift.seen or 0.0)), n=shift.n)
        return ReinforcerCell(met, (gettext("the only one so far: nothing to compare with"),))
    chance, low, high = shift.chance_at(OTHERWISE[band])
    small = [
        gettext("likely {low} to {high}").format(low=show_chance(low), high=show_chance(high)),
        gettext("{n} tries").format(n=shift.n),
    ]
    if shift.p_better is not None:
        small.append(gettext("better than the usual one: {p} sure").format(p=show_chance(shift.p_better)))
    elif name != comparison.usual:
        small.append(gettext("used for other behaviours than the usual one: not to be compared"))
    return ReinforcerCell(show_chance(chance), tuple(small))
