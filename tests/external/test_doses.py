"""Doses of what is dangerous to dogs, against published thresholds and worked examples.

Sources: chocolate 20, 40-50, 60, 100-200 mg/kg and the content in mg/g, Merck Veterinary Manual and ASPCA poison
control (seen on secondary pages); xylitol 75-100 and 500 mg/kg, Gwaltney-Brant 2021 (Merck), 100 mg/kg, Clinician's
Brief; onion 0.5 % of the body weight, Osweiler, 15 g/kg, Compendium review; macadamia 0.7 to 4.9 g/kg, McKenzie et al.
2000, Aust Vet Pract 30:6-10, 2.4 g/kg, Merck 2013; salt 2-3 and 4 g/kg (secondary page), play dough 1.9 g/kg of dough.
The doses of a 5 kg pup were computed separately.
"""

import pytest

from pupilage.core.care.food.doses import (
    CALL_NOW,
    Poison,
    answer_dose,
    dose_per_kg,
    find_eaten,
    highest_band,
    list_eaten,
)

PRINTED_WORDS = (
    "This is not a diagnosis. Call your veterinarian or an animal poison service now. Have ready: what, how much, "
    "when, the puppy's weight, and the packaging. Do not make the dog vomit unless a veterinarian tells you to."
)

WORKED = [
    # what, amount, content per unit, dose, band from
    (Poison.METHYLXANTHINES, 20, 2.3, 9.2, None),
    (Poison.METHYLXANTHINES, 20, 5.5, 22.0, 20),
    (Poison.METHYLXANTHINES, 20, 16.0, 64.0, 60),
    (Poison.METHYLXANTHINES, 5, 28.5, 28.5, 20),
    (Poison.ONION, 25, 1.0, 5.0, 5),
    (Poison.XYLITOL, 1, 500.0, 100.0, 100),
    (Poison.MACADAMIA, 12, 1.0, 2.4, 2.4),
]

THRESHOLDS = {
    Poison.METHYLXANTHINES: (20, 40, 60, 100),
    Poison.XYLITOL: (75, 100, 500),
    Poison.ONION: (5, 15),
    Poison.MACADAMIA: (0.7, 2.4),
    Poison.SALT: (2, 4),
    Poison.PLAY_DOUGH: (1.9,),
}


@pytest.mark.parametrize("row", WORKED)
def test_doses_of_a_5_kg_pup(row):
    poison, amount, content, dose, band = row
    found = dose_per_kg(amount, content, 5.0)
    assert found == pytest.approx(dose, rel=1e-9)
    reached = highest_band(poison, found)
    assert (None if reached is None else reached.from_dose) == band


def test_published_case_of_xylitol():
    """225 to 240 tablets of 250 mg in a dog of 10.8 kg: 5.2 to 5.5 g/kg (5.208 and 5.556)."""
    assert dose_per_kg(225, 0.25, 10.8) == pytest.approx(5.208, abs=0.5e-3)
    assert dose_per_kg(240, 0.25, 10.8) == pytest.approx(5.556, abs=0.5e-3)
    assert highest_band(Poison.XYLITOL, 5208).from_dose == 500


def test_ounce_of_milk_chocolate_per_pound_may_kill():
    """Merck and ASPCA, as quoted: 1 oz (28.35 g) per lb (0.45359237 kg) of body weight is potentially lethal."""
    dose = dose_per_kg(28.35, 2.3, 0.45359237)
    assert highest_band(Poison.METHYLXANTHINES, dose).from_dose == 100


@pytest.mark.parametrize(("poison", "doses"), THRESHOLDS.items())
def test_bands_begin_at_the_published_doses(poison, doses):
    for n, dose in enumerate(doses):
        assert highest_band(poison, dose).from_dose == dose
        below = highest_band(poison, dose * 0.99)
        assert (None if below is None else below.from_dose) == (doses[n - 1] if n else None)


def test_contents_are_the_highest_that_are_printed():
    """mg of theobromine and caffeine a gram: cocoa powder 28.5, baker's 16, dark 5.4-5.7, milk 2.3, hulls 9.1."""
    printed = {"cocoa-powder": 28.5, "baking-chocolate": 16, "dark-chocolate": 5.7, "milk-chocolate": 2.3}
    for key, content in (printed | {"cocoa-hulls": 9.1}).items():
        assert find_eaten(key).per_unit == content
    # a gum or mint holds 0.22 to 1.0 g of xylitol
    assert find_eaten("xylitol-gum").per_unit == 1000


def test_every_entry_has_its_own_key_and_a_dose_where_it_has_a_unit():
    entries = list_eaten()
    assert len({one.key for one in entries}) == len(entries)
    for one in entries:
        assert (one.poison is Poison.NONE) == (one.unit == "" and one.per_unit == 0.0)


def test_fixed_words_stand_with_every_answer():
    assert str(CALL_NOW) == PRINTED_WORDS
    for one in list_eaten():
        for amount in (None, 0.001, 1.0, 5000.0):
            for weight_kg in (None, 5.0):
                answer = answer_dose(one, amount=amount, weight_kg=weight_kg)
                assert str(answer.call_now) == PRINTED_WORDS


def test_no_answer_reassures():
    soothing = (
        "safe dose",
        "harmless",
        "no danger",
        "fine",
        "nothing to worry",
        "not toxic",
        "unlikely",
        "wait and see",
    )
    for one in list_eaten():
        for amount in (None, 0.001, 3.0):
            said = str(answer_dose(one, amount=amount, weight_kg=5.0).band).lower()
            assert not [word for word in soothing if word in said], said


def test_grapes_have_no_safe_amount():
    answer = answer_dose(find_eaten("grapes"), amount=0.1, weight_kg=30.0)
    assert "No safe amount is known" in str(answer.band)
    assert answer.reached is None
