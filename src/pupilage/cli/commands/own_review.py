"""`pupilage review`: the keeper's own look back over the ended stays."""

import sys

import click

from pupilage.cli.clock import now
from pupilage.cli.printing import json_option, print_json, print_table
from pupilage.cli.project import Choice, act


@click.command("review")
@json_option
@click.pass_obj
def review(choice: Choice, as_json: bool) -> None:
    """Look back: forecasts beside what came, how long goals took, own slips by kind. For the keeper alone.

    Forecasts are worked out again from the log as it stood then; each ended stay once, after which it is kept.
    """
    actor = act(choice)
    from pupilage.reports.own_review_words import evidence_rows, road_rows, slip_rows
    from pupilage.services.read_own_review import read_own_review

    with click.progressbar(length=1, label="Stays", file=sys.stderr) as bar:

        def told(done: int, every: int) -> None:
            bar.length = every
            bar.update(done - bar.pos)

        found = read_own_review(actor, now=now(), each=told)
    if as_json:
        print_json(found)
        return
    click.echo(f"Ended stays: {found.n_stays}; goals: {found.n_goals}; forecasts with an outcome: {found.n_forecasts}.")
    scores = found.scores
    if scores is None:
        click.echo(f"Not enough yet for a score: needs {found.need_forecasts} forecasts of {found.need_stays} stays.")
    else:
        click.echo(f"Brier score {scores.brier:.3f} ({scores.low:.3f} to {scores.high:.3f}), "
                   f"reliability {scores.reliability:.3f}, resolution {scores.resolution:.3f}, "
                   f"uncertainty {scores.uncertainty:.3f}, within {scores.within:.3f}.")  # fmt: skip
        rows = [
            (f"{b.start:.0%}-{b.end:.0%}", str(b.n), f"{b.mean_p:.2f}", f"{b.share:.2f}", f"{b.low:.2f} … {b.high:.2f}")
            for b in scores.bins
        ]
        print_table(("told", "forecasts", "mean", "met", "95 % limits"), rows)
    for title, rows_of in (("outcomes", [(w, str(n)) for w, n in evidence_rows(found.by_evidence)]),
                           ("goals", road_rows(found.roads)), ("own hand", slip_rows(found.slips))):  # fmt: skip
        if rows_of:
            print_table((title, ""), rows_of)
