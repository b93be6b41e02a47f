"""A plan as JSON and back."""

from dataclasses import asdict
from datetime import date
from typing import Any

from pupilage.core.catalogue.behaviour import Place
from pupilage.core.planning.planned_session import PlannedSession, Purpose
from pupilage.core.planning.programme.plan import Change, Clash, GoalPlan, PlanDay, ProgrammePlan, Proof, Relief
from pupilage.core.planning.programme.rules import Rule
from pupilage.core.words import Sentence

FORMAT = 1


def plan_to_json(plan: ProgrammePlan) -> dict[str, Any]:
    """Return a plan in JSON's own types; `plan_from_json` gives it back."""
    return {"format": FORMAT, **_plain(asdict(plan))}


def plan_from_json(kept: dict[str, Any]) -> ProgrammePlan | None:
    """Return the plan, or None where it is of another format: it is then made anew."""
    if kept.get("format") != FORMAT:
        return None
    return ProgrammePlan(
        made_on=date.fromisoformat(kept["made_on"]),
        handover_on=date.fromisoformat(kept["handover_on"]),
        days=tuple(map(_day, kept["days"])),
        goals=tuple(_goal(goal) for goal in kept["goals"]),
        clashes=tuple(map(clash_from_json, kept["clashes"])),
        reliefs=tuple(map(_relief, kept["reliefs"])),
        proof=Proof(**kept["proof"]),
        held=kept["held"],
    )


def clash_to_json(clash: Clash) -> dict[str, Any]:
    """Return a clash in JSON's own types."""
    plain: dict[str, Any] = _plain(asdict(clash))
    return plain


def clash_from_json(kept: dict[str, Any]) -> Clash:
    """Return the clash that `clash_to_json` wrote."""
    return Clash(_sentence(kept["what"]), tuple(map(_sentence, kept["rules"])), tuple(map(_sentence, kept["ways"])))


def _plain(value: Any) -> Any:
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, dict):
        return {str(key): _plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    return value.value if isinstance(value, Purpose | Place | Rule) else value


def _sentence(kept: dict[str, Any]) -> Sentence:
    return Sentence(kept["template"], kept["figures"])


def _day(kept: dict[str, Any]) -> PlanDay:
    sessions = tuple(map(_session, kept["sessions"]))
    return PlanDay(date.fromisoformat(kept["day"]), sessions, kept["n_room"], Rule(kept["rule"]))


def _session(kept: dict[str, Any]) -> PlannedSession:
    return PlannedSession(**{**kept, "purpose": Purpose(kept["purpose"]), "place": Place(kept["place"])})


def _goal(kept: dict[str, Any]) -> GoalPlan:
    begins_on = kept["begins_on"] and date.fromisoformat(kept["begins_on"])
    return GoalPlan(**{**kept, "begins_on": begins_on})


def _relief(kept: dict[str, Any]) -> Relief:
    return Relief(**{**kept, "changes": tuple(Change(**change) for change in kept["changes"])})
