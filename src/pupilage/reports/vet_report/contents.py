"""A whole report as data: what the typesetter gets and what the page shows, and its figures by name."""

from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from django.utils import translation
from django.utils.formats import date_format

from pupilage.core.clock import age_weeks
from pupilage.core.incidents.alone import span
from pupilage.core.vet_report.facts import VetReportFacts
from pupilage.core.words import UNBROKEN
from pupilage.reports.formatting import show_number
from pupilage.reports.pack.framing import frame_of
from pupilage.reports.pack.options import PackOptions
from pupilage.reports.pack.tongue import Tongue
from pupilage.reports.pack.writer import DATES, Block, callout, facts_table, paragraph
from pupilage.reports.vet_report.words import PART

Figure = str | int | float | None


@dataclass(frozen=True)
class ReportContents:
    """data: for the typesetter, in JSON's types; figures: every count and rate by name, as it was worked out."""

    data: dict[str, Any]
    figures: dict[str, Figure]

    @property
    def sections(self) -> list[dict[str, Any]]:
        found: list[dict[str, Any]] = self.data["sections"]
        return found


@dataclass
class ReportWriter:
    """One report while it is written. Dates are written in the language that Django has active."""

    facts: VetReportFacts
    options: PackOptions
    tongue: Tongue
    figures: dict[str, Figure] = field(default_factory=dict)

    def note(self, key: str, value: Figure) -> Figure:
        """Keep a figure under its name and return it."""
        self.figures[key] = value
        return value

    def count(self, key: str, n: int) -> str:
        """Keep a count and return it as it is written."""
        self.note(key, n)
        return str(n)

    def day(self, day: date) -> str:
        return date_format(day, DATES[self.options.language][1]).replace(" ", UNBROKEN)

    def moment(self, at: datetime) -> str:
        """Return a day and a time of day, in the trainer's zone."""
        local = at.astimezone(self.facts.zone)
        return f"{date_format(local, DATES[self.options.language][0])}, {local:%H:%M}".replace(" ", UNBROKEN)

    def number(self, value: float) -> str:
        return show_number(value)

    def span(self, seconds: float) -> str:
        return span(seconds).replace(" ", UNBROKEN)


def write_report(facts: VetReportFacts, options: PackOptions) -> ReportContents:
    """Return what a report says, in the language chosen."""
    from pupilage.reports.vet_report.sections import SECTIONS

    tongue = Tongue(options.language, also="pupilage.reports.vet_report")
    with translation.override(options.language.value):
        w = ReportWriter(facts, options, tongue)
        sections = [_head(w), *(section for make in SECTIONS if (section := make(w)) is not None)]
        data = {**_frame(w), "sections": sections, "fonts": tongue.of("Signs that could not be drawn")}
    return ReportContents(data, w.figures)


def _frame(w: ReportWriter) -> dict[str, Any]:
    t, facts = w.tongue, w.facts
    made = facts.made_on
    return frame_of(
        w.options,
        made,
        dog=facts.dog,
        nameless=t.of("The pup"),
        title=t.of("{dog}: record for a veterinarian", dog=facts.dog),
        under=f"{w.day(facts.period.first)} – {w.day(facts.period.last)}",
        author=facts.trainer,
        foot=t.of("Written down by {trainer}, printed on {day}", trainer=facts.trainer, day=w.day(made)),
    )


def _head(w: ReportWriter) -> dict[str, Any]:
    t, facts = w.tongue, w.facts
    n_days = w.note("period.days", facts.period.n_days)
    weeks = w.number(float(w.note("age.weeks", round(age_weeks(facts.born_on, facts.period.last), 1)) or 0.0))
    rows: list[tuple[str, Any]] = [
        (t.of("Period"), t.of("{first} to {last}, {n} days", first=w.day(facts.period.first),
                              last=w.day(facts.period.last), n=str(n_days))),
        (t.of("Born"), t.of("{day}, {weeks} weeks old at the end of the period",
                            day=w.day(facts.born_on), weeks=weeks)),
    ]  # fmt: skip
    rows += [(t.of("Sex"), t.text(facts.sex))] if facts.sex else []
    rows += [(t.of("Breed or mix"), facts.breed)] if facts.breed else []
    rows.append((t.of("Written down by"), facts.trainer))
    blocks: list[Block] = [
        facts_table(rows),
        callout(
            t.of("This is what people saw and wrote down. It is no diagnosis, and it names no cause."),
            t.of("Where nothing was written down, the report says “no entry”. No entry is not the same as “none”."),
        ),
        paragraph(_watched(w)),
    ]
    if facts.left_out:
        named = ", ".join(t.said(PART[part]) for part in PART if part in facts.left_out)
        blocks.append(paragraph(t.of("Left out by the trainer’s choice: {parts}.", parts=named)))
    return {"title": t.of("The dog and the period"), "blocks": blocks}


def _watched(w: ReportWriter) -> str:
    t, facts = w.tongue, w.facts
    n = w.count("watched.days", facts.n_days_watched)
    if not facts.n_days_watched:
        return t.of("No day of the period has entries of its daily life: there are no hours to count incidents in.")
    hours = w.number(float(w.note("watched.hours", round(facts.watched_h, 1)) or 0.0))
    return t.of(
        "Days with entries of its daily life: {n} of {all}. Time awake and not shut in on those days: {hours} hours.",
        n=n, all=facts.period.n_days, hours=hours,
    )  # fmt: skip
