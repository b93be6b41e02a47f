"""A filled database of an older version keeps its records, and what is new in it starts as it should."""

from datetime import UTC, date, datetime

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
        migrate()
        from pupilage.storage.models import Programme

        found = Programme.objects.get(id=stay.id)
        assert (found.prior_shape, found.handover_on) == (None, date(2026, 5, 23))
        assert found.outing_risk == 0.05
