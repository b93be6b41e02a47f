"""A filled database of an older version keeps its records, and what is new in it starts as it should."""

from datetime import UTC, date, datetime
from uuid import uuid4

from django.core.management import call_command
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from pytest_django.plugin import DjangoDbBlocker

from pupilage.storage.database import database_at, migrate


def test_stays_of_the_first_version_keep_the_shipped_prior(tmp_path, django_db_blocker: DjangoDbBlocker):
    with django_db_blocker.unblock(), database_at(tmp_path / "old.sqlite3"):
        call_command("migrate", "storage", "0001_first", interactive=False, verbosity=0)
        old = MigrationExecutor(connection).loader.project_state([("storage", "0001_first")]).apps
        workspace = old.get_model("storage", "Workspace").objects.create(
            name="yard", created_at=datetime(2026, 5, 2, tzinfo=UTC)
        )
        household = old.get_model("storage", "Household").objects.create(workspace=workspace, name="home")
        dog = old.get_model("storage", "Dog").objects.create(
            workspace=workspace, household=household, name="Tansy", born_on=date(2026, 2, 25)
        )
        stay = old.get_model("storage", "Programme").objects.create(
            workspace=workspace, dog=dog, arrival_on=date(2026, 5, 2), handover_on=date(2026, 5, 23)
        )
        old.get_model("storage", "Weight").objects.create(
            workspace=workspace, dog=dog, at=datetime(2026, 5, 2, tzinfo=UTC), weight_kg=4.2
        )
        old.get_model("storage", "Reinforcer").objects.create(workspace=workspace, name="dry food", piece_g=0.4)
        migrate()
        from pupilage.storage.models import Dog, Programme, Reinforcer, Weight, Workspace

        found = Programme.objects.get(id=stay.id)
        assert (found.prior_shape, found.handover_on) == (None, date(2026, 5, 23))
        assert found.outing_risk == 0.05
        fed = Dog.objects.get(id=dog.id)
        assert (fed.energy_method, fed.food_label_unit, fed.likes, fed.ration_basis_kcal) == ("", "", [], None)
        assert (Weight.objects.get().weight_kg, Weight.objects.get().body_condition) == (4.2, None)
        assert (Reinforcer.objects.get().piece_g, Reinforcer.objects.get().ingredients) == (0.4, "")
        assert Workspace.objects.get().poison_phone == ""


def test_stays_of_before_the_exposures_have_an_empty_log_that_can_be_written(
    tmp_path, django_db_blocker: DjangoDbBlocker
):
    with django_db_blocker.unblock(), database_at(tmp_path / "old.sqlite3"):
        call_command("migrate", "storage", "0002_prior_shape", interactive=False, verbosity=0)
        old = MigrationExecutor(connection).loader.project_state([("storage", "0002_prior_shape")]).apps
        workspace = old.get_model("storage", "Workspace").objects.create(
            name="yard", created_at=datetime(2026, 5, 2, tzinfo=UTC)
        )
        household = old.get_model("storage", "Household").objects.create(workspace=workspace, name="home")
        dog = old.get_model("storage", "Dog").objects.create(
            workspace=workspace, household=household, name="Tansy", born_on=date(2026, 2, 25)
        )
        migrate()
        from pupilage.storage.models import Dog, ExposureEvent

        assert not ExposureEvent.objects.filter(dog_id=dog.id).exists()
        at = datetime(2026, 5, 3, tzinfo=UTC)
        ExposureEvent.objects.create(
            workspace_id=workspace.id,
            event_id=uuid4(),
            dog=Dog.objects.get(id=dog.id),
            kind="met",
            item="grass",
            intensity=1,
            response="calm",
            at=at,
            received_at=at,
        )
        assert ExposureEvent.objects.count() == 1


def test_incidents_of_before_the_plans_are_kept_and_a_plan_can_be_written(tmp_path, django_db_blocker: DjangoDbBlocker):
    with django_db_blocker.unblock(), database_at(tmp_path / "old.sqlite3"):
        call_command("migrate", "storage", "0009_minutes_a_day", interactive=False, verbosity=0)
        old = MigrationExecutor(connection).loader.project_state([("storage", "0009_minutes_a_day")]).apps
        at = datetime(2026, 5, 3, tzinfo=UTC)
        workspace = old.get_model("storage", "Workspace").objects.create(name="yard", created_at=at)
        household = old.get_model("storage", "Household").objects.create(workspace=workspace, name="home")
        dog = old.get_model("storage", "Dog").objects.create(
            workspace=workspace, household=household, name="Tansy", born_on=date(2026, 2, 25)
        )
        old.get_model("storage", "Incident").objects.create(workspace=workspace, dog=dog, behaviour="digging", at=at)
        migrate()
        from pupilage.storage.models import ChangePlan, Incident

        assert Incident.objects.get().behaviour == "digging"
        ChangePlan.objects.create(
            workspace_id=workspace.id,
            dog_id=dog.id,
            behaviour="digging",
            starts_on=date(2026, 5, 4),
            kind="plan",
            written_at=at,
        )
        assert ChangePlan.objects.get().arrange == []


def test_stays_of_before_the_absences_can_have_them_written(tmp_path, django_db_blocker: DjangoDbBlocker):
    with django_db_blocker.unblock(), database_at(tmp_path / "old.sqlite3"):
        call_command("migrate", "storage", "0009_minutes_a_day", interactive=False, verbosity=0)
        old = MigrationExecutor(connection).loader.project_state([("storage", "0009_minutes_a_day")]).apps
        workspace = old.get_model("storage", "Workspace").objects.create(
            name="yard", created_at=datetime(2026, 5, 2, tzinfo=UTC)
        )
        household = old.get_model("storage", "Household").objects.create(workspace=workspace, name="home")
        dog = old.get_model("storage", "Dog").objects.create(
            workspace=workspace, household=household, name="Tansy", born_on=date(2026, 2, 25)
        )
        incident = old.get_model("storage", "Incident").objects.create(
            workspace=workspace, dog=dog, behaviour="counter-stealing", at=datetime(2026, 5, 3, tzinfo=UTC)
        )
        migrate()
        from pupilage.storage.models import Absence, AloneAdvice, Dog, Incident

        kept = Dog.objects.get(id=dog.id)
        assert Incident.objects.get().id == incident.id
        assert not Absence.objects.exists()
        assert not AloneAdvice.objects.exists()
        at = datetime(2026, 5, 4, tzinfo=UTC)
        row = Absence.objects.create(workspace_id=workspace.id, dog=kept, at=at, away_s=60.0, watched="camera")
        row.refresh_from_db()
        assert (row.signs, row.had, row.state, row.resident, row.taken_back_at) == ([], [], [], False, None)


def test_stays_of_before_the_pack_can_have_words_for_the_family(tmp_path, django_db_blocker: DjangoDbBlocker):
    with django_db_blocker.unblock(), database_at(tmp_path / "old.sqlite3"):
        call_command("migrate", "storage", "0014_absences", interactive=False, verbosity=0)
        old = MigrationExecutor(connection).loader.project_state([("storage", "0014_absences")]).apps
        workspace = old.get_model("storage", "Workspace").objects.create(
            name="yard", created_at=datetime(2026, 5, 2, tzinfo=UTC)
        )
        household = old.get_model("storage", "Household").objects.create(workspace=workspace, name="home")
        dog = old.get_model("storage", "Dog").objects.create(
            workspace=workspace, household=household, name="Tansy", born_on=date(2026, 2, 25)
        )
        stay = old.get_model("storage", "Programme").objects.create(
            workspace=workspace, dog=dog, arrival_on=date(2026, 5, 2), handover_on=date(2026, 5, 23)
        )
        migrate()
        from pupilage.storage.models import HandoverWords

        assert not HandoverWords.objects.exists()
        row = HandoverWords.objects.create(workspace_id=workspace.id, programme_id=stay.id)
        assert (row.release_word, row.house_rules, row.note) == ("", "", "")
