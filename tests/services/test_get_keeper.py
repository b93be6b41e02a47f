"""Who the command line acts as."""

import pytest

from pupilage.core.access import Role
from pupilage.core.errors import Conflict, NotFound
from pupilage.services.get_keeper import get_keeper


@pytest.mark.django_db
def test_an_empty_database_has_no_keeper():
    with pytest.raises(NotFound, match="pupilage serve"):
        get_keeper()


def test_the_only_workspace_needs_no_name(actor, reader):
    assert get_keeper() == actor
    assert get_keeper().role is Role.KEEPER


def test_of_several_one_must_be_chosen(actor, stranger):
    with pytest.raises(Conflict, match=r"choose one with --workspace: “wren yard” .*“corvin yard”"):
        get_keeper()
    assert get_keeper("corvin yard") == stranger
    assert get_keeper(str(actor.workspace_id)) == actor


def test_an_unknown_workspace_is_not_found(actor):
    with pytest.raises(NotFound, match="“barn”"):
        get_keeper("barn")
