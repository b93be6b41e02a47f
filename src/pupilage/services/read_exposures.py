"""What the exposures page shows: the sensitive period, today's few, and where every item stands."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.care.exposures.item import VetTopic
from pupilage.core.care.exposures.judging import ItemStanding, Judgement, judge_exposures
from pupilage.core.care.exposures.log import Exposure, VetWord, standing_exposures, vet_words
from pupilage.core.care.exposures.period import SensitivePeriod, sensitive_period
from pupilage.core.care.exposures.proposal import (
    ExposureDay,
    ExposureProposal,
    day_cautions,
    propose_exposures,
)
from pupilage.core.care.exposures.spreading import Spread, spread_exposures
from pupilage.core.clock import local_day
from pupilage.core.errors import NotFound, Problem
from pupilage.core.words import Sentence
from pupilage.services.read_programme import ProgrammeHead, head_of
from pupilage.storage.exposure_files import read_exposure_files
from pupilage.storage.queries.exposures import list_exposure_log
from pupilage.storage.queries.programmes import programme_readable_by

N_A_DAY = 5
"""Meetings of a day, those by chance included, and the most of one in the dated list (common practice, no source)."""


@dataclass(frozen=True)
class ExposuresPage:
    """The page of a stay's exposures.

    cautions: what stands above today's list; vet_words: the yes of the veterinarian by topic; vet_days: dates at the
    veterinarian's from today on; recent: the newest meetings first; spread: the dated list up to the end of the
    sensitive period or the hand-over, whichever is first; problems: what is wrong with the trainer's own files.
    """

    head: ProgrammeHead
    period: SensitivePeriod
    days_left: int
    period_words: Sentence
    judgement: Judgement
    today: tuple[ExposureProposal, ...]
    cautions: tuple[Sentence, ...]
    vet_words: Mapping[VetTopic, VetWord]
    vet_days: tuple[date, ...]
    recent: tuple[Exposure, ...]
    spread: Spread
    problems: tuple[Problem, ...]


@dataclass(frozen=True)
class ExposurePage:
    """One item: where it stands, whether it is among today's, and its meetings, the newest first."""

    head: ProgrammeHead
    standing: ItemStanding
    cautions: tuple[Sentence, ...]
    proposed: ExposureProposal | None
    met: tuple[Exposure, ...]


def read_exposures(actor: Actor, programme_id: UUID, *, now: datetime) -> ExposuresPage:
    """Return the page of a stay's exposures. Who may: whoever may read. Raises NotFound. Three queries."""
    programme = programme_readable_by(actor, programme_id)
    dog = programme.dog
    today = local_day(now, actor.zone)
    log = list_exposure_log(actor, dog)
    vet_days = tuple(dog.vet_dates.filter(on__gte=today).order_by("on").values_list("on", flat=True))
    listed = read_exposure_files()
    judgement = judge_exposures(log, listed.catalogue, now=now, zone=actor.zone)
    day = ExposureDay(unwell=bool(dog.signs.strip()), at_veterinarian=today in vet_days)
    period = sensitive_period(dog.born_on)
    last_on = min(period.closes_on, programme.handover_on)
    return ExposuresPage(
        head=head_of(actor, programme, now=now),
        period=period,
        days_left=period.days_left(today),
        period_words=period.words(today),
        judgement=judgement,
        today=tuple(propose_exposures(judgement, day, limit=max(0, N_A_DAY - judgement.n_met_today))),
        cautions=tuple(day_cautions(judgement, day)),
        vet_words=vet_words(log),
        vet_days=vet_days,
        recent=tuple(reversed(standing_exposures(log))),
        spread=spread_exposures(judgement.standings, days_between(today, last_on, without=vet_days), N_A_DAY),
        problems=listed.problems,
    )


def days_between(today: date, last_on: date, *, without: tuple[date, ...]) -> list[date]:
    """Return the days after today and before the last one, without some."""
    days = [today + timedelta(days=n) for n in range(1, (last_on - today).days)]
    return [day for day in days if day not in without]


def read_exposure(actor: Actor, programme_id: UUID, item: str, *, now: datetime) -> ExposurePage:
    """Return one item's page. Who may: whoever may read. Raises NotFound."""
    page = read_exposures(actor, programme_id, now=now)
    standing = page.judgement.of(item)
    if standing is None:
        raise NotFound("There is no such item on the list of what to meet; choose one of it.")
    return ExposurePage(
        head=page.head,
        standing=standing,
        cautions=page.cautions,
        proposed=next((one for one in page.today if one.item.key == item), None),
        met=tuple(one for one in page.recent if one.item == item),
    )
