"""`pupilage agreement`: how far two people who watched the same thing wrote down the same."""

import csv
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid4

import click

from pupilage.cli.clock import now
from pupilage.cli.printing import json_option, plain, print_json, print_table
from pupilage.cli.project import Choice, act
from pupilage.core.errors import InvalidInput, NotEnoughYet

if TYPE_CHECKING:
    from pupilage.core.evaluation.codings import Coding
    from pupilage.core.evaluation.comparison import Comparison, Terms

LOG_NAME = "The log"
COLUMNS = ("n", "time_s", "one", "other", "same")


@dataclass(frozen=True)
class Asked:
    """What the options say: files, the session, how the second person of a file is called where it is to be kept."""

    files: tuple[Path, ...]
    session_id: UUID | None
    keep_as: str


@click.command()
@click.argument("files", type=click.Path(path_type=Path), nargs=-1, metavar="[ONE.csv [OTHER.csv]]")
@click.option("--session", "session_id", type=click.UUID, help="A session: its log is the first.", metavar="ID")
@click.option("--keep-as", default="", help="Store the file as this person's coding of the session.", metavar="NAME")
@click.option("--interval-s", type=float, default=10.0, show_default=True, help="Seconds an interval.")
@click.option("--tolerance-s", type=float, default=2.0, show_default=True, help="Seconds apart, the same moment.")
@click.option("--shift-s", type=float, default=0.0, show_default=True, help="Seconds to add to the second's times.")
@click.option("--csv", "as_csv", is_flag=True, help="Write every moment as CSV instead.")
@json_option
@click.pass_obj
def agreement(
    choice: Choice,
    files: tuple[Path, ...],
    session_id: UUID | None,
    keep_as: str,
    interval_s: float,
    tolerance_s: float,
    shift_s: float,
    as_csv: bool,
    as_json: bool,
) -> None:
    """Say how far two codings of the same thing agree, and list where they differ.

    A file has the columns time_s (83.5, or 1:23.5 from the start) and code; a row with the code end says how long the
    person watched. With --session and no file, the session's log is compared with its newest second coding.
    """
    from pupilage.core.evaluation.comparison import Terms

    terms = Terms(interval_s, tolerance_s, shift_s)
    found = _compare(choice, Asked(files, session_id, keep_as), terms)
    if as_csv:
        _write_csv(found)
    elif as_json:
        print_json(_facts(found))
    else:
        _print(found)


def _compare(choice: Choice, asked: Asked, terms: "Terms") -> "Comparison":
    wanted = 2 if asked.session_id is None else 1
    if len(asked.files) > wanted or (asked.session_id is None and len(asked.files) < wanted):
        raise InvalidInput.of(
            "files", "Give two files, or --session with one file or none; {n} were given.", n=len(asked.files)
        )
    if asked.keep_as and (asked.session_id is None or not asked.files):
        raise InvalidInput.of("--keep-as", "Only a file's coding of a session can be kept; give --session and a file.")
    if asked.session_id is None:
        from pupilage.core.evaluation.comparison import compare_codings

        one, other = (_read(file) for file in asked.files)
        return compare_codings(one, other, terms)
    return _compare_session(choice, asked.session_id, asked, terms)


def _compare_session(choice: Choice, session_id: UUID, asked: Asked, terms: "Terms") -> "Comparison":
    given = [_read(file) for file in asked.files]
    actor = act(choice)
    from pupilage.services.compare_codings import Sides, compare_session_codings
    from pupilage.services.keep_coding import Subject, keep_coding

    if asked.keep_as:
        keep_coding(actor, Subject(session_id=session_id), _given(given[0], asked.keep_as), now=now())
        given = []
    page = compare_session_codings(actor, session_id, Sides(), terms, log_name=LOG_NAME, given=given)
    if page.comparison is None:
        raise NotEnoughYet("agreement, in codings of this session", 1, 2)
    return page.comparison


def _given(coding: "Coding", observer: str) -> Any:
    """Return a file's coding as it is kept."""
    from pupilage.core.evaluation.codings import Entry, EntryKind
    from pupilage.services.keep_coding import CodingGiven

    entries = [Entry(str(uuid4()), EntryKind.MARK, mark.time_s, mark.code) for mark in coding.marks]
    if coding.length_s is not None:
        entries.append(Entry(str(uuid4()), EntryKind.ENDED, coding.length_s))
    return CodingGiven(uuid4(), observer, tuple(entries))


def _read(file: Path) -> "Coding":
    from pupilage.core.sheets.codings import read_coding

    return read_coding(file.read_bytes(), file.stem)


def _facts(found: "Comparison") -> dict[str, Any]:
    from pupilage.core.evaluation.talking_over import say_agreement, say_differing, say_kappa

    return {
        "one": found.one.observer,
        "other": found.other.observer,
        "terms": found.terms,
        "compared_s": found.compared_s,
        "n_intervals": found.n_intervals,
        "n_moments": len(found.moments),
        "n_same": found.n_same,
        "share": found.share,
        "matched": found.matched,
        "overall": found.overall,
        "codes": found.codes,
        "differing": [{**plain(one), "says": str(say_differing(one, found))} for one in found.differing],
        "outside": [{"observer": who, **plain(mark)} for who, mark in found.outside],
        "likely_shift_s": found.likely_shift_s,
        "says": [*say_agreement(found), *say_kappa(found)],
    }


def _print(found: "Comparison") -> None:
    from pupilage.core.evaluation.talking_over import say_agreement, say_differing, say_kappa

    for says in (*say_agreement(found), *say_kappa(found)):
        click.echo(str(says))
    click.echo(f"In per cent, over {found.n_intervals} intervals of {found.terms.interval_s:g} s:")
    headers = ("word", "marks", "total", "mean", "exact", "intervals", "scored", "unscored")
    rows = [found.overall, *(found.codes if len(found.codes) > 1 else ())]
    print_table(
        headers,
        [
            (
                row.code or "any",
                f"{row.n_one}, {row.n_other}",
                *(_percent(share) for share in (row.counts.total, row.counts.mean, row.counts.exact)),
                *(_percent(share) for share in (row.intervals.all, row.intervals.scored, row.intervals.unscored)),
            )
            for row in rows
        ],
    )
    for one in found.differing:
        click.echo(str(say_differing(one, found)))
    for who, mark in found.outside:
        click.echo(f"Outside what both watched: {who}, {mark.code}, {mark.time_s:.1f} s")


def _percent(share: float | None) -> str:
    return "–" if share is None else f"{100.0 * share:.1f}"


def _write_csv(found: "Comparison") -> None:
    out = csv.writer(sys.stdout)
    out.writerow(COLUMNS)
    for n, pair in enumerate(found.moments, 1):
        one, other = (mark.code if mark else "" for mark in (pair.one, pair.other))
        out.writerow((n, round(pair.time_s, 1), one, other, int(pair.is_same)))
