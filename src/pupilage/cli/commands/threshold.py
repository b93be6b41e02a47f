"""`pupilage threshold`: how long, how far, how distracting and where, and the most useful next try."""

from typing import TYPE_CHECKING, Any
from uuid import UUID

import click

from pupilage.cli.clock import now
from pupilage.cli.commands.programme import describe_head, find_programme_id
from pupilage.cli.printing import json_option, print_json, print_table
from pupilage.cli.project import Choice, act
from pupilage.core.words import percent

if TYPE_CHECKING:
    from pupilage.core.training.posterior.reading import Reading
    from pupilage.core.training.thresholds.extents import DimensionReading, Threshold
    from pupilage.core.training.thresholds.information import NextTry
    from pupilage.services.read_threshold import ThresholdPage


@click.command()
@click.argument("programme_id", type=click.UUID, required=False, metavar="[ID]")
@click.option("--behaviour", required=True, help="A key of the catalogue.", metavar="KEY")
@click.option("--step", help="The step whose other dimensions are kept.  [default: the next one]", metavar="KEY")
@json_option
@click.pass_obj
def threshold(choice: Choice, programme_id: UUID | None, behaviour: str, step: str | None, as_json: bool) -> None:
    """Say how long, how far, how distracting and where a behaviour is met.

    Each from the pup's own record, the others as at the step, with 90 % intervals; and the next try that would tell
    most. A dimension that was never varied keeps what we assume, and says so.
    """
    actor = act(choice)
    from pupilage.services.read_threshold import read_threshold

    at = now()
    page = read_threshold(actor, find_programme_id(actor, programme_id, now=at), behaviour, step=step, now=at)
    if as_json:
        print_json(_facts(page))
    else:
        _print(page)


def _facts(page: "ThresholdPage") -> dict[str, Any]:
    found = page.map
    return {
        "programme": page.head,
        "behaviour": found.behaviour,
        "step": found.step,
        "target": found.target,
        "n_trials": found.n_trials,
        "enough": found.enough,
        "reason": found.reason,
        "p_met": _chance(found.here),
        "p_household": _chance(found.household),
        "dimensions": [_dimension(one) for one in found.dimensions],
        "unchanged": found.unchanged,
        "p_by_levels": found.by_levels,
        "household_once_trained_to": found.after_training,
        "next_try": None if found.next_try is None else _next(found.next_try),
        "next_reason": found.next_reason,
    }


def _chance(reading: "Reading | None") -> dict[str, float] | None:
    if reading is None:
        return None
    low, high = reading.interval()
    return {"p": reading.mean, "low": low, "high": high}


def _dimension(one: "DimensionReading") -> dict[str, Any]:
    factor, low, high = one.factor
    return {
        "dimension": one.dimension,
        "at_step": _named(one, one.at_step),
        "tried": [_named(one, value) for value in one.tried],
        "most_told": _named(one, one.most),
        "from_record": one.from_record,
        "weighs": {"factor": factor, "low": low, "high": high},
        "met_8_in_10": _ends(one, one.sure),
        "met_half": _ends(one, one.even),
        "reason": one.reason,
    }


def _ends(one: "DimensionReading", found: "Threshold") -> dict[str, float | str | None]:
    return {name: _named(one, getattr(found, name)) for name in ("value", "low", "high")}


def _named(one: "DimensionReading", value: float) -> float | str | None:
    """Return seconds, metres or a degree as they are, a place by its key, and None where nothing is borne."""
    from pupilage.core.catalogue.behaviour import Place
    from pupilage.core.training.posterior.difficulty import Dimension

    if value < 0.0:
        return None
    return tuple(Place)[round(value)].value if one.dimension is Dimension.PLACE else value


def _next(found: "NextTry") -> dict[str, Any]:
    return {
        "step": found.step,
        "dimension": found.dimension,
        "criterion": found.criterion,
        "p_met": _chance(found.reading),
        "bits": found.bits,
    }


def _print(page: "ThresholdPage") -> None:
    click.echo(describe_head(page.head))
    click.echo(f"{page.behaviour.key} at {page.step.key}, {page.step.summary}")
    click.echo(str(page.map.reason))
    if not page.map.enough:
        return
    headers = ("dimension", "this step", "met 8 in 10", "90 % interval", "met half the time", "90 % interval")
    print_table(headers, [_row(one) for one in page.map.dimensions])
    for one in page.map.dimensions:
        click.echo(f"{one.dimension.value}: {one.reason}")
    if page.map.unchanged:
        click.echo(f"The steps of this behaviour never change: {', '.join(one.value for one in page.map.unchanged)}")
    if page.map.household is not None:
        low, high = page.map.household.interval()
        mean = page.map.household.mean
        click.echo(
            f"At the household level ({page.target.key}): {percent(mean)} ({percent(low)} … {percent(high)}) now"
        )
    for after in page.map.after_training:
        click.echo(
            f"  once {after.step} is met 85 in 100: {percent(after.p)} ({percent(after.low)} … {percent(after.high)})"
        )
    _print_next(page)


def _row(one: "DimensionReading") -> tuple[str, ...]:
    from pupilage.core.catalogue.behaviour import Place
    from pupilage.reports.thresholds import show_amount, show_threshold, show_threshold_range

    places = {place: place.value for place in Place}
    return (
        one.dimension.value,
        show_amount(one.dimension, one.at_step, places),
        show_threshold(one, one.sure, places),
        show_threshold_range(one, one.sure, places),
        show_threshold(one, one.even, places),
        show_threshold_range(one, one.even, places),
    )


def _print_next(page: "ThresholdPage") -> None:
    found = page.map.next_try
    click.echo(f"Next try: {page.map.next_reason}")
    if found is None:
        return
    asked = found.criterion
    click.echo(
        f"  {found.step}{f', another {found.dimension.value}' if found.dimension else ''}:"
        f" {asked.duration_s:g} s, {asked.distance_m:g} m, distraction {asked.distraction}, {asked.place.value}"
    )


def _with_ends(p: float, low: float, high: float) -> str:
    return f"{percent(p)} ({percent(low)} … {percent(high)})"
