"""Which signs are panic, and what is said then."""

import pytest

from pupilage.core.incidents.alone import Sign
from pupilage.core.incidents.panic import MEANWHILE, SEVERE, WHOM, is_panic


@pytest.mark.parametrize("sign", sorted(SEVERE))
def test_one_severe_sign_is_panic(sign):
    assert is_panic([sign])


@pytest.mark.parametrize(
    "signs",
    [[Sign.TOILET, Sign.HOWLING], [Sign.NOT_EATING, Sign.PACING], [Sign.TOILET, Sign.DAMAGE, Sign.WHINING]],
)
def test_soiling_or_leaving_food_in_distress_is_panic(signs):
    assert is_panic(signs)


@pytest.mark.parametrize(
    "signs",
    [[], [Sign.WHINING], [Sign.TOILET], [Sign.TOILET, Sign.WHINING], [Sign.NOT_EATING], [Sign.BARKING, Sign.HOWLING]],
)
def test_distress_alone_or_a_full_bladder_is_not_panic(signs):
    assert not is_panic(signs)


def test_it_is_said_whom_to_ask_and_how_nobody_has_to_leave_it():
    assert "veterinary behaviourist" in str(WHOM[0])
    assert any("stays with it" in str(one) for one in MEANWHILE)
