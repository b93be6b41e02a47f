"""What every room's tests may use: a workspace, its people, a pup's stay, all made through the services."""

import os
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from uuid import UUID, uuid4

import pytest
from hypothesis import settings

from chromium import browser, playwright
from pupilage.core.access import Actor, Role

__all__ = ["browser", "playwright"]  # one Chromium for all rooms

for limit in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(limit, "1")  # as the command sets them, and before NumPy is imported

settings.register_profile("pupilage", deadline=None, derandomize=True)
settings.load_profile("pupilage")
"""Tests are not timed, and the same examples are tried on every machine."""

NOW = datetime(2026, 5, 12, 8, 30, tzinfo=UTC)
"""A Tuesday morning, day 11 of the stay below."""

ARRIVAL = date(2026, 5, 2)
HANDOVER = date(2026, 5, 23)
BORN = date(2026, 2, 25)


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put the browser's tests last: Playwright's event loop stays in the thread, and the ORM refuses beside one."""
    items.sort(key=lambda item: item.get_closest_marker("browser") is not None)


@pytest.fixture(autouse=True)
def own_data_folder(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep every test away from the data folder of whoever runs it."""
    monkeypatch.setenv("PUPILAGE_DATA", str(tmp_path_factory.mktemp("data")))


@pytest.fixture
def now() -> datetime:
    return NOW


@pytest.fixture
def new_workspace(db: None) -> Callable[..., Actor]:
    """Return a function that opens a workspace and returns its keeper."""
    from pupilage.services.open_workspace import NewWorkspace, open_workspace

    def make(username: str, **changes: object) -> Actor:
        plain = NewWorkspace(
            name=f"{username} yard", username=username, display_name=username.title(), timezone="Europe/Lisbon"
        )
        return open_workspace(replace(plain, **changes), now=NOW)

    return make


@pytest.fixture
def actor(new_workspace: Callable[..., Actor]) -> Actor:
    """The keeper of a workspace in Lisbon."""
    return new_workspace("wren")


@pytest.fixture
def stranger(new_workspace: Callable[..., Actor]) -> Actor:
    """The keeper of another workspace, who must never see the first."""
    return new_workspace("corvin")


@pytest.fixture
def reader(actor: Actor) -> Actor:
    """A person of the first workspace who may only read."""
    from pupilage.storage.models import Membership, User
    from pupilage.storage.queries.access import get_actor

    user = User.objects.create_user(username="pia", display_name="Pia")
    Membership.objects.create(workspace_id=actor.workspace_id, user=user, role=Role.READER.value)
    return get_actor(user.id)


@pytest.fixture
def intake() -> object:
    """A plausible intake: a pup, a resident dog, a family, a diet, two vet dates."""
    from pupilage.services.start_programme import Intake, NewDog, NewReinforcer

    return Intake(
        household="Wren's yard",
        pup=NewDog(
            name="Tansy",
            born_on=BORN,
            sex="female",
            breed="mixed",
            weight_kg=4.2,
            expected_adult_weight_kg=18.0,
            food_name="dry food",
            daily_food_g=210.0,
            food_kcal_per_100g=370.0,
        ),
        arrival_on=ARRIVAL,
        handover_on=HANDOVER,
        sessions_a_day=4,
        family="Linden house",
        resident=NewDog(name="Moss", born_on=date(2019, 6, 1)),
        vet_dates=((date(2026, 5, 15), "second vaccination"),),
        reinforcers=(
            NewReinforcer("dry food", 0.4, 370.0, from_ration=True),
            NewReinforcer("cooked chicken", 0.5, 165.0),
        ),
    )


@pytest.fixture
def new_programme(intake: object) -> Callable[..., UUID]:
    """Return a function that starts a stay for an actor, with the catalogue's first goals, and returns its id."""
    from pupilage.services.set_goals import GoalChoice, set_goals
    from pupilage.services.start_programme import start_programme
    from pupilage.storage.catalogue_files import load_catalogue

    def make(actor: Actor, *, n_goals: int = 6, **changes: object) -> UUID:
        programme_id = start_programme(actor, replace(intake, **changes), now=NOW - timedelta(days=10))
        behaviours = list(load_catalogue().behaviours.values())[:n_goals]
        choices = [GoalChoice(b.key, b.target, b.weight) for b in behaviours]
        set_goals(actor, programme_id, choices, now=NOW - timedelta(days=10))
        return programme_id

    return make


@pytest.fixture
def programme(actor: Actor, new_programme: Callable[..., UUID]) -> UUID:
    """The id of a running stay of the first workspace."""
    return new_programme(actor)


@pytest.fixture
def small(actor: Actor, new_programme: Callable[..., UUID]) -> UUID:
    """The id of a stay with three goals that nothing else has to come before: quick to plan."""
    from pupilage.services.set_goals import GoalChoice, set_goals
    from pupilage.storage.catalogue_files import load_catalogue

    programme_id = new_programme(actor, n_goals=0)
    behaviours = [load_catalogue().behaviours[key] for key in ("down", "hand-target", "sit")]
    set_goals(actor, programme_id, [GoalChoice(b.key, b.steps[3].key, 3) for b in behaviours], now=NOW)
    return programme_id


@pytest.fixture
def new_session() -> Callable[..., UUID]:
    """Return a function that writes a session and returns its id; outcomes are stored values; named: handler, place."""
    from pupilage.core.training.record.events import Event, EventKind
    from pupilage.core.training.record.evidence import SessionKind
    from pupilage.services.record_events import record_events

    def make(
        actor: Actor,
        programme_id: UUID,
        behaviour: str,
        step: str,
        outcomes: list[str],
        *,
        at: datetime = NOW - timedelta(hours=1),
        kind: SessionKind = SessionKind.TRAINING,
        end: bool = True,
        **named: str,
    ) -> UUID:
        session_id, device = uuid4(), str(uuid4())
        written = [
            (
                EventKind.SESSION_STARTED,
                {
                    "programme": str(programme_id),
                    "behaviour": behaviour,
                    "step": step,
                    "kind": kind.value,
                    "reinforcer": "dry food",
                    "pieces": 60,
                    **named,
                },
            ),
            *((EventKind.TRIAL, {"outcome": outcome, "pieces": int(outcome == "met")}) for outcome in outcomes),
            *([(EventKind.SESSION_ENDED, {})] if end else []),
        ]
        events = [
            Event(str(uuid4()), device, n, str(session_id), event_kind, at + timedelta(seconds=8 * n), 60, payload)
            for n, (event_kind, payload) in enumerate(written)
        ]
        verdicts = record_events(actor, events, now=NOW)
        refused = [str(verdict.reason) for verdict in verdicts if verdict.reason is not None]
        assert not refused, refused
        return session_id

    return make


@pytest.fixture
def dog(actor: Actor, programme: UUID) -> UUID:
    """The id of the pup of that stay."""
    from pupilage.storage.queries.programmes import programme_readable_by

    return programme_readable_by(actor, programme).dog_id
