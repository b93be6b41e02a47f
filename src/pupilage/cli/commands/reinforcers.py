"""`pupilage reinforcers`: which reinforcer works for this pup, and how quickly it begins."""

from typing import TYPE_CHECKING
from uuid import UUID

import click

from pupilage.cli.clock import now
from pupilage.cli.commands.programme import describe_head, find_programme_id
from pupilage.cli.printing import json_option, plain, print_json, print_table
from pupilage.cli.project import Choice, act

if TYPE_CHECKING:
    from pupilage.core.training.rewards.reinforcers import Shift
    from pupilage.services.read_reinforcers import BehaviourLatency


@click.command()
@click.argument("programme_id", type=click.UUID, required=False, metavar="[ID]")
@json_option
@click.pass_obj
def reinforcers(choice: Choice, programme_id: UUID | None, as_json: bool) -> None:
    """Say which reinforcer works for this pup, at easy and at difficult steps.

    Each is compared with what was expected of its tries before their session, and told for a step that is met so often
    otherwise. Hunger, the hour and the place are not taken out: what is always used in one place cannot be told from
    the place.
    """
    actor = act(choice)
    from pupilage.services.read_reinforcers import read_reinforcers

    at = now()
    page = read_reinforcers(actor, find_programme_id(actor, programme_id, now=at), now=at)
    shifts = page.comparison.shifts
    if as_json:
        facts = [{**plain(shift), "enough": shift.enough} for shift in shifts]
        latencies = [{**plain(one), "enough": one.latency.enough} for one in page.latencies]
        print_json(
            {"programme": page.head, "usual": page.comparison.usual, "reinforcers": facts, "latencies": latencies}
        )
        return
    click.echo(describe_head(page.head))
    if not shifts:
        click.echo("Not enough yet: no tries with a named reinforcer.")
    else:
        headers = (
            "reinforcer",
            "steps",
            "tries",
            "sessions",
            "met",
            "otherwise",
            "with it",
            "90 % interval",
            "better than usual",
        )
        print_table(headers, [_row(one, page.comparison.usual, compares=page.comparison.compares) for one in shifts])
    if page.latencies:
        click.echo("From cue to behaviour, at the step practised last:")
        print_table(("behaviour", "taken", "usually", "90 % interval", "the next, 9 in 10"), map(_line, page.latencies))


ANY_STEP = 0.75
"""What a step is met with otherwise, where easy and difficult ones stand together."""


def _row(shift: "Shift", usual: str | None, *, compares: bool) -> tuple[str, ...]:
    from pupilage.core.training.rewards.reinforcers import OTHERWISE
    from pupilage.reports.formatting import show_chance

    counts = (shift.reinforcer, shift.band.value if shift.band else "all", str(shift.n), str(shift.n_sessions))
    if not (shift.enough and compares):
        why = "not enough yet" if compares else "the only one so far"
        return (*counts, show_chance(shift.seen), why, "", "", "")
    otherwise = OTHERWISE.get(shift.band or "", ANY_STEP)
    chance, low, high = shift.chance_at(otherwise)
    better = "other behaviours" if shift.p_better is None else show_chance(shift.p_better)
    return (
        *counts,
        show_chance(shift.seen),
        show_chance(otherwise),
        show_chance(chance),
        f"{show_chance(low)} … {show_chance(high)}",
        "the usual one" if shift.reinforcer == usual else better,
    )


def _line(one: "BehaviourLatency") -> tuple[str, ...]:
    from pupilage.reports.formatting import show_seconds

    found = one.latency
    if not found.enough:
        return (one.behaviour, str(found.n), "not enough yet", "", "")
    return (
        one.behaviour,
        str(found.n),
        show_seconds(found.typical_s),
        f"{show_seconds(found.low_s)} … {show_seconds(found.high_s)}",
        f"{show_seconds(found.next_low_s)} … {show_seconds(found.next_high_s)}",
    )
