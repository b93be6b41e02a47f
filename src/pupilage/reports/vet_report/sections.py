"""The sections of a report, each with its counts and the words as they were entered."""

from collections.abc import Callable
from typing import Any

from pupilage.core.care.exposures.log import Response
from pupilage.core.care.exposures.wording import INTENSITY_WORDS, RESPONSE_SIGNS, RESPONSE_WORDS, TOPIC_WORDS
from pupilage.core.incidents.absences import AbsenceRecord
from pupilage.core.incidents.between_dogs import WHO_WORDS
from pupilage.core.incidents.phases import PhaseKind
from pupilage.core.incidents.rates import rate_of
from pupilage.core.incidents.record import Incident
from pupilage.core.incidents.teeth import WORDS as TEETH
from pupilage.core.vet_report.facts import BehaviourRecord, Part, count_absences
from pupilage.reports.formatting import show_distance, show_grams, show_weight
from pupilage.reports.pack.writer import Block, facts_table, heading, lines, paragraph, table
from pupilage.reports.vet_report.contents import ReportWriter
from pupilage.reports.vet_report.words import BEFORE, GAIN, HAD, SIGN, SPOT, STATE, WATCHED

Section = dict[str, Any]


def _section(title: str, *blocks: Block) -> Section:
    return {"title": title, "blocks": list(blocks), "follows": True}


def _no_entry(w: ReportWriter) -> Block:
    return paragraph(w.tongue.of("No entry in this period. That is not “none”: nobody wrote it down."))


def vet_section(w: ReportWriter) -> Section | None:
    """Return signs, dates with the veterinarian, and what was said there, all as entered."""
    t, facts = w.tongue, w.facts
    if not facts.has(Part.VET):
        return None
    w.note("vet.dates", len(facts.vet_dates))
    rows = [(w.day(on), what) for on, what in facts.vet_dates]
    said = [
        *(t.of("{day}: the veterinarian said yes to {what}", day=w.moment(at), what=t.said(TOPIC_WORDS[topic]))
          for at, topic in facts.vet_words),
        *(t.of("{day}, on time alone: {words}", day=w.moment(at), words=words) for at, words in facts.advice),
    ]  # fmt: skip
    signs = t.signs(facts.signs)
    return _section(
        t.of("Veterinarian and signs, as entered"),
        heading(t.of("Signs written down for this dog")),
        lines(signs) if signs else paragraph(t.of("No entry.")),
        heading(t.of("Dates with the veterinarian")),
        facts_table(rows) if rows else paragraph(t.of("No entry.")),
        heading(t.of("What was said there")),
        lines(said) if said else paragraph(t.of("No entry.")),
    )


def incidents_section(w: ReportWriter) -> Section | None:
    """Return each behaviour with its count, its rate and every incident."""
    t, facts = w.tongue, w.facts
    if not facts.has(Part.INCIDENTS):
        return None
    w.note("incidents.behaviours", len(facts.behaviours))
    if not facts.behaviours:
        return _section(t.of("Incidents"), _no_entry(w))
    blocks: list[Block] = [
        paragraph(
            t.of(
                "Each name stands for what is described under it. Rates are for ten hours awake and not shut in, with"
                " the limits between which the true rate lies in 95 of 100 such records."
            )
        )
    ]
    for n, behaviour in enumerate(facts.behaviours, start=1):
        blocks += _behaviour(w, behaviour, f"incidents.{n}")
    return _section(t.of("Incidents"), *blocks)


def _behaviour(w: ReportWriter, behaviour: BehaviourRecord, key: str) -> list[Block]:
    t = w.tongue
    w.note(f"{key}.behaviour", behaviour.name)
    counts = [(t.of("Happened"), w.count(f"{key}.happened", behaviour.n_happened))]
    if behaviour.n_left:
        counts.append((t.of("Looked, and left it"), w.count(f"{key}.left", behaviour.n_left)))
    if behaviour.n_near_misses:
        counts.append((t.of("Began, and a person was in time"), w.count(f"{key}.near", behaviour.n_near_misses)))
    counts.append((t.of("In ten hours"), _rate(w, behaviour, key)))
    if behaviour.n_outside:
        outside = w.count(f"{key}.outside", behaviour.n_outside)
        counts.append((t.of("Outside of the hours watched"), t.of("{n}, in no rate", n=outside)))
    head = [t.of("When"), t.of("Where, and just before"), t.of("What followed"), t.of("Note")]
    return [
        heading(t.text(behaviour.name)),
        *([paragraph(t.text(behaviour.definition))] if behaviour.definition else []),
        facts_table(counts),
        {**table(head, [_incident(w, one) for one in behaviour.incidents]), "widths": [1.3, 1.8, 0.8]},
    ]


def _rate(w: ReportWriter, behaviour: BehaviourRecord, key: str) -> str:
    t = w.tongue
    if behaviour.tally is None:
        return t.of("no rate: no hours were watched")
    rate = rate_of(behaviour.tally)
    value, low, high = (round(10.0 * one, 2) for one in (rate.value, rate.low, rate.high))
    w.note(f"{key}.per-10-h", value)
    w.note(f"{key}.per-10-h.low", low)
    w.note(f"{key}.per-10-h.high", high)
    w.note(f"{key}.hours", round(behaviour.tally.exposure, 1))
    return t.of(
        "{rate} ({low} to {high}): {n} in {hours} hours",
        rate=w.number(value), low=w.number(low), high=w.number(high),
        n=behaviour.tally.n, hours=w.number(behaviour.tally.exposure),
    )  # fmt: skip


def _incident(w: ReportWriter, one: Incident) -> list[str]:
    t, facts = w.tongue, w.facts
    what = t.of("left it") if one.left_it else t.of("a person was in time") if one.near_miss else ""
    place = one.place if facts.has(Part.NOTES) else ""
    told = one.antecedent if facts.has(Part.NOTES) else ""
    before = [place, *(t.said(BEFORE[key]) for key in one.before), told]
    followed = [
        what,
        t.said(TEETH[one.teeth]) if one.teeth else "",
        t.of("then had: {what}", what=t.said(GAIN[one.gained])) if one.gained else "",
        one.consequence if facts.has(Part.NOTES) else "",
        t.of("people: {did}", did=one.people_did) if one.people_did and facts.has(Part.PEOPLE) else "",
    ]
    between = one.between
    if between is not None and between.started is not None:
        followed.append(t.of("started by: {who}", who=t.said(WHO_WORDS[between.started])))
    if between is not None and between.hurt is not None:
        followed.append(t.of("hurt: {who}", who=t.said(WHO_WORDS[between.hurt])))
    notes = [
        one.note if facts.has(Part.NOTES) else "",
        t.of("in charge: {who}", who=one.in_charge) if one.in_charge and facts.has(Part.PEOPLE) else "",
        "" if one.supervised else t.of("nobody was with it"),
    ]
    return [w.moment(one.at), *(_joined(parts) for parts in (before, followed, notes))]


def _joined(parts: list[str]) -> str:
    """Return parts in one line; a full stop gives way to the semicolon after it."""
    *before, last = [part.strip() for part in parts if part.strip()] or ["–"]
    return "; ".join([*(one if one.endswith("..") else one.removesuffix(".") for one in before), last])


def weight_section(w: ReportWriter) -> Section | None:
    """Return weighings, the food, and the meals that were written down."""
    t, facts = w.tongue, w.facts
    if not facts.has(Part.WEIGHT):
        return None
    w.note("weighings", len(facts.weighings))
    blocks: list[Block] = []
    if facts.weighings:
        head = [t.of("Day"), t.of("Weight"), t.of("Body condition, 1 to 9")]
        rows = []
        for n, one in enumerate(facts.weighings, start=1):
            w.note(f"weighing.{n}.kg", one.weight_kg)
            condition = t.of("no entry") if one.condition is None else str(one.condition)
            rows.append([w.moment(one.at), show_weight(one.weight_kg, w.options.unit), condition])
        blocks.append(table(head, rows))
    else:
        blocks.append(paragraph(t.of("Weight: no entry in this period.")))
    food = " ".join(part for part in (show_grams(facts.daily_g) if facts.daily_g else "", facts.food_name) if part)
    meals, n_days = facts.meals, facts.period.n_days
    counted = t.of("no entry")
    if meals.n:
        w.note("meals", meals.n)
        counted = t.of("{n}, on {days} of {all} days", n=meals.n, days=meals.n_days, all=n_days)
    rows_of_food = [(t.of("Food a day, as entered"), food or t.of("no entry")), (t.of("Meals written down"), counted)]
    if meals.n_weighed:
        w.note("meals.eaten-g", round(meals.eaten_g))
        eaten = t.of("{grams} in {n} meals that were weighed", grams=show_grams(meals.eaten_g), n=meals.n_weighed)
        rows_of_food.append((t.of("Eaten"), eaten))
    return _section(t.of("Weight and food"), *blocks, facts_table(rows_of_food))


def toilet_section(w: ReportWriter) -> Section | None:
    """Return the toilet record in counts."""
    t, facts, n = w.tongue, w.facts, w.facts.toilet
    if not facts.has(Part.TOILET):
        return None
    if not n.n_days:
        return _section(t.of("Toilet record"), _no_entry(w))
    out = t.of(
        "{n}: with wee {wee}, with poo {poo}, with nothing {nothing}",
        n=w.count("toilet.outings", n.n_outings), wee=w.count("toilet.wee", n.n_wee),
        poo=w.count("toilet.poo", n.n_poo), nothing=w.count("toilet.nothing", n.n_nothing),
    )  # fmt: skip
    indoors = t.of(
        "{n}: wee {wee}, poo {poo}",
        n=w.count("toilet.indoors", n.n_indoors), wee=w.count("toilet.indoors-wee", n.n_indoors_wee),
        poo=w.count("toilet.indoors-poo", n.n_indoors_poo),
    )  # fmt: skip
    days = t.of("{n} of {all}", n=w.count("toilet.days", n.n_days), all=facts.period.n_days)
    rows = [(t.of("Outings written down"), out), (t.of("Indoors"), indoors), (t.of("Days with an entry"), days)]
    return _section(t.of("Toilet record"), facts_table(rows), paragraph(t.of("One with both counts in both.")))


def alone_section(w: ReportWriter) -> Section | None:
    """Return absences with the signs seen and their times."""
    t, facts = w.tongue, w.facts
    if not facts.has(Part.ALONE):
        return None
    if not facts.absences:
        return _section(t.of("Time alone"), _no_entry(w))
    n = count_absences(facts.absences)
    rows = [
        (t.of("Absences"), w.count("alone.absences", n.n)),
        (t.of("Watched or recorded"), w.count("alone.watched", n.n_watched)),
        (t.of("With a sign of distress"), w.count("alone.with-sign", n.n_with_sign)),
    ]
    head = [t.of("When"), t.of("Signs, after how long"), t.of("How long, where, with what"), t.of("Note")]
    return _section(
        t.of("Time alone"),
        facts_table(rows),
        {**table(head, [_absence(w, one) for one in facts.absences]), "widths": [1.1, 1.7, 1.0]},
    )


def _absence(w: ReportWriter, one: AbsenceRecord) -> list[str]:
    t = w.tongue
    signs = [
        t.of("{sign} (found afterwards)", sign=t.said(SIGN[sign.sign]))
        if sign.at_s is None
        else t.of("{sign} after {time}", sign=t.said(SIGN[sign.sign]), time=w.span(sign.at_s))
        for sign in one.signs
    ]
    seen = ", ".join(signs) or (t.of("none seen") if one.watched.value != "not" else t.of("not known"))
    around = [
        t.said(SPOT[one.spot]) if one.spot else "",
        *(t.said(HAD[had]) for had in one.had),
        *(t.said(STATE[state]) for state in one.state),
        t.of("with the resident dog") if one.resident else "",
        t.said(WATCHED[one.watched]),
    ]
    how = _joined([w.span(one.away_s), *around])
    return [w.moment(one.at), seen, how, _joined([one.note if w.facts.has(Part.NOTES) else ""])]


def exposures_section(w: ReportWriter) -> Section | None:
    """Return what it met, how often each response was seen, and every meeting with fear in it."""
    t, facts = w.tongue, w.facts
    if not facts.has(Part.EXPOSURES):
        return None
    if not facts.met:
        return _section(t.of("What it met"), _no_entry(w))
    met = sorted(facts.met, key=lambda item: t.text(item.name).casefold())
    n = w.count("met.meetings", sum(len(item.exposures) for item in facts.met))
    head = [t.of("What"), *(t.said(RESPONSE_WORDS[one]) for one in Response)]
    rows = []
    for item in met:
        for one in Response:
            w.note(f"met.{item.name}.{one.value}", item.n(one))
        rows.append([t.text(item.name), *(str(item.n(one)) for one in Response)])
    scale = [f"{t.said(RESPONSE_WORDS[one])}: {t.said(RESPONSE_SIGNS[one])}" for one in Response]
    told = [
        line
        for item in met
        for one in item.exposures
        if one.response in (Response.WORRIED, Response.AFRAID)
        for line in [_meeting(w, t.text(item.name), one)]
    ]
    blocks = [paragraph(t.of("Meetings: {n}. What the words stand for:", n=n)), lines(scale), table(head, rows)]
    if told:
        blocks += [heading(t.of("Meetings scored worried or afraid")), lines(told)]
    return _section(t.of("What it met"), *blocks)


def _meeting(w: ReportWriter, name: str, one: Any) -> str:
    t = w.tongue
    parts = [
        t.said(RESPONSE_WORDS[one.response]),
        t.said(INTENSITY_WORDS[one.intensity]),
        show_distance(one.distance_m) if one.distance_m is not None else "",
        t.of("loose again after {time}", time=w.span(one.recovery_s)) if one.recovery_s is not None else "",
        one.note if w.facts.has(Part.NOTES) else "",
    ]
    return f"{w.moment(one.at)}, {name}: {_joined(parts)}"


def arranged_section(w: ReportWriter) -> Section | None:
    """Return what was arranged against which behaviour from when on."""
    t, facts = w.tongue, w.facts
    if not facts.has(Part.ARRANGED):
        return None
    if not facts.arranged:
        return _section(t.of("What was arranged"), _no_entry(w))
    w.note("arranged", len(facts.arranged))
    rows = []
    for one in facts.arranged:
        ended = one.phase.kind is PhaseKind.ENDED
        parts = [t.of("ended")] if ended else [t.text(text) for text in one.phase.arrange]
        parts += [t.of("taught instead: {what}", what=t.text(one.instead))] if one.instead else []
        parts.append(one.phase.note if facts.has(Part.NOTES) else "")
        rows.append([w.day(one.phase.starts_on), t.text(one.behaviour), _joined(parts)])
    return _section(
        t.of("What was arranged"), {**table([t.of("Since"), t.of("Against"), t.of("What")], rows), "widths": [1.0, 2.0]}
    )


SECTIONS: tuple[Callable[[ReportWriter], Section | None], ...] = (
    vet_section,
    incidents_section,
    weight_section,
    toilet_section,
    alone_section,
    exposures_section,
    arranged_section,
)
