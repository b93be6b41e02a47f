"""What the checks against other programs share."""

import os

import pytest

from pupilage.cli.checks_environment import find_python


@pytest.fixture(scope="module")
def other_programs() -> None:
    """Skip, or fail where the checks are required, without the environment that those programs run in."""
    if find_python() is not None:
        return
    why = "The environment .venv-checks is missing; scripts/set_up_checks makes it."
    if os.environ.get("PUPILAGE_CHECKS") == "required":
        pytest.fail(why)
    pytest.skip(why)
