"""`pupilage exposures`: what the pup meets today, and where every item stands."""

from typing import TYPE_CHECKING, Any
from uuid import UUID

import click

from pupilage.cli.clock import now
from pupilage.cli.commands.programme import describe_head, find_programme_id
from pupilage.cli.printing import json_option, print_json, print_table
from pupilage.cli.project import Choice, act

if TYPE_CHECKING:
    from pupilage.core.care.exposures.judging import ItemStanding
    from pupilage.core.care.exposures.proposal import ExposureProposal
    from pupilage.services.read_exposures import ExposuresPage


@click.command()
@click.argument("programme_id", type=click.UUID, required=False, metavar="[ID]")
@json_option
@click.pass_obj
def exposures(choice: Choice, programme_id: UUID | None, as_json: bool) -> None:
    """Say what the pup should meet today, and where every item stands.

    People, dogs, surfaces, sounds, handling, places and vehicles, paired with food and at the pup's pace, before the
    sensitive period closes. What was too much is held back. Which places and which dogs, the veterinarian decides.
    """
    actor = act(choice)
    from pupilage.services.read_exposures import read_exposures

    at = now()
    page = read_exposures(actor, find_programme_id(actor, programme_id, now=at), now=at)
    if as_json:
        print_json(_facts(page))
    else:
        _print(page)


def _facts(page: "ExposuresPage") -> dict[str, Any]:
    return {
        "programme": page.head,
        "sensitive_period": page.period,
        "days_left": page.days_left,
        "cautions": page.cautions,
        "veterinarian_said_yes": {topic.value: word.at for topic, word in page.vet_words.items()},
        "today": [_proposal(one) for one in page.today],
        "items": [_standing(one) for one in page.judgement.standings],
        "days": [{"on": one.on, "item": one.standing.item.key, "number": one.number} for one in page.spread.dated],
        "without_a_day": [{"item": one.standing.item.key, "reason": one.reason} for one in page.spread.not_placed],
    }


def _proposal(one: "ExposureProposal") -> dict[str, Any]:
    return {
        "item": one.item.key,
        "name": one.item.name,
        "intensity": one.intensity,
        "distance_m": one.distance_m,
        "minutes": one.minutes,
        "change": one.change,
        "reason": one.reason,
    }


def _standing(one: "ItemStanding") -> dict[str, Any]:
    return {
        "item": one.item.key,
        "group": one.item.group,
        "state": one.state,
        "n_met": one.n_met,
        "n_well": one.n_well,
        "well_intensity": one.well_intensity,
        "target": one.item.target,
        "known": one.known,
        "held_until": one.held_until,
        "waits_for_vet": one.waits_for_vet,
        "next": one.next,
    }


def _print(page: "ExposuresPage") -> None:
    from pupilage.core.care.exposures.proposal import meeting_words

    click.echo(describe_head(page.head))
    click.echo(str(page.period_words))
    for caution in page.cautions:
        click.echo(str(caution))
    if page.today:
        click.echo("Today:")
        print_table(("meet", "why"), [(str(meeting_words(one)), str(one.reason)) for one in page.today])
    click.echo("When and where the pup meets unknown dogs and their ground is for its veterinarian to say.")
    print_table(("group", "item", "stands", "not before"), [_row(one) for one in page.judgement.standings])


def _row(one: "ItemStanding") -> tuple[str, ...]:
    from pupilage.core.care.exposures.wording import standing_words

    later = str(one.held_until or "")
    return (
        one.item.group.value,
        one.item.key,
        str(standing_words(one)),
        "the veterinarian says yes" if one.waits_for_vet else later,
    )
