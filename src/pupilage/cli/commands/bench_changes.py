"""`pupilage bench changes`: how often a burst, a return or a fall is named where there is none, and where there is."""

import sys
from typing import TYPE_CHECKING

import click

from pupilage.cli.printing import json_option, plain, print_json, print_table

if TYPE_CHECKING:
    from pupilage.core.simulation.phase_records import Named

HEAD = ("world", "rarer", "rarer on any day", "rise", "burst", "still up", "return", "start dated", "published rule")


@click.command()
@click.option("--records", default=1000, show_default=True, type=click.IntRange(10), help="Records of each world.")
@click.option("--seed", default=1, show_default=True)
@json_option
def changes(records: int, seed: int, as_json: bool) -> None:
    """Measure the words on plans: two weeks before a start and two with the plan, in worlds that are known.

    What is named on any of the fourteen days counts, but for “rarer” and “start dated”: those are of the last.
    All shares are in per cent; their standard error is at most 50 ÷ √records. The published rule names a burst where
    one of the first three days has more incidents than each of the last five before.
    """
    from pupilage.core.simulation.phase_records import WORLDS, name_patterns

    with click.progressbar(length=records * len(WORLDS), label="Records", file=sys.stderr) as bar:
        found = {world.name: name_patterns(world, records, seed, each=lambda: bar.update(1)) for world in WORLDS}
    if as_json:
        print_json({name: plain(one) for name, one in found.items()})
    else:
        print_table(HEAD, [(name, *_shares(one)) for name, one in found.items()])


def _shares(one: "Named") -> list[str]:
    counts = (
        one.fallen, one.ever_fallen, one.rise, one.burst, one.still_up, one.returned, one.dated, one.published,
    )  # fmt: skip
    return [f"{100 * count / one.n:.1f}" for count in counts]
