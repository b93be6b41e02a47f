import pytest

from pupilage.core.words import UNBROKEN
from pupilage.reports.formatting import show_times


@pytest.mark.parametrize(("ratio", "shown"), [(0.25, "0.2"), (2.34, "2.3"), (9.96, "10"), (18.9, "19"), (56.4, "56")])
def test_ratio_is_rounded_and_never_cut_off(ratio, shown):
    assert show_times(ratio) == f"×{UNBROKEN}{shown}"
