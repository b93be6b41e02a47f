"""Choosing, moving and reading a ration; what a dog likes best; a weighing with its score."""

from datetime import date, timedelta
from itertools import pairwise

import pytest

from pupilage.core.care.events import CareKind
from pupilage.core.care.food.energy import EnergyMethod, growth_bands_kcal
from pupilage.core.care.food.growth import typical_fraction
from pupilage.core.care.food.label import LabelUnit
from pupilage.core.errors import Conflict, Forbidden, InvalidInput, NotFound
from pupilage.services.change_dog import DogFacts, change_dog
from pupilage.services.log_care import CareEntry, log_care
from pupilage.services.log_weight import log_weight
from pupilage.services.rank_reinforcers import rank_reinforcers
from pupilage.services.read_care_panel import read_care_panel
from pupilage.services.read_eaten import EatenQuestion, answer_eaten, read_eaten
from pupilage.services.read_ration import Wanted, read_ration
from pupilage.services.save_reinforcer import ReinforcerEntry, save_reinforcer
from pupilage.services.set_preferences import Preferences, set_preferences
from pupilage.services.set_ration import move_ration_on, set_ration
from pupilage.storage.models import AuditEntry, Dog, TrainingSession, Weight

FACTS = DogFacts(
    "Tansy", date(2026, 2, 25), food_name="dry food", daily_food_g=210.0, label_energy=370.0,
    expected_adult_weight_kg=18.0,
)  # fmt: skip


def change(actor, dog, now, **more):
    change_dog(actor, dog, DogFacts(**{**vars(FACTS), **more}), signs_settled=False, now=now)
    return Dog.objects.get(id=dog)


def test_page_shows_every_method_in_kcal_and_in_grams_of_its_food(actor, dog, now):
    page = read_ration(actor, dog, now=now)
    assert [line.method for line in page.methods] == list(EnergyMethod)
    bands = next(line for line in page.methods if line.method is EnergyMethod.GROWTH_BANDS)
    assert bands.energy_kcal == pytest.approx(growth_bands_kcal(4.2, 18.0))
    assert bands.grams == pytest.approx(bands.energy_kcal / 3.7)
    assert page.energy_method is None
    assert page.meals.n_meals == 4
    assert page.split.enough


def test_more_sessions_than_the_food_can_pay_are_told(actor, dog, now):
    page = read_ration(actor, dog, Wanted(8, 5.0, 15.0), now=now)
    assert not page.split.enough
    assert page.plan == Wanted(8, 5.0, 15.0)


def test_chosen_method_sets_whole_grams_and_is_kept(actor, dog, now):
    done = set_ration(actor, dog, EnergyMethod.GROWTH_CURVE, now=now)
    row = Dog.objects.get(id=dog)
    assert (row.daily_food_g, row.energy_method) == (done.daily_g, "growth-curve")
    assert row.ration_set_on == date(2026, 5, 12)
    assert read_ration(actor, dog, now=now).energy_method is EnergyMethod.GROWTH_CURVE
    assert AuditEntry.objects.filter(action="set-ration").count() == 1


def test_grams_given_by_hand_are_somebodys_word_again_and_grow_with_the_pup(actor, dog, now):
    set_ration(actor, dog, EnergyMethod.GROWTH_CURVE, now=now)
    row = change(actor, dog, now, daily_food_g=230.0)
    assert (row.energy_method, row.daily_food_g) == ("", 230.0)
    assert row.ration_basis_kcal == pytest.approx(growth_bands_kcal(4.2, 18.0))
    log_weight(actor, dog, 4.7, at=now + timedelta(days=7), now=now + timedelta(days=7), body_condition=5)
    page = read_ration(actor, dog, now=now + timedelta(days=7))
    assert page.move.factor == pytest.approx((4.7 / 4.2) ** 0.75)


def test_change_that_leaves_the_grams_leaves_the_method(actor, dog, now):
    set_ration(actor, dog, EnergyMethod.GROWTH_CURVE, now=now)
    grams = Dog.objects.get(id=dog).daily_food_g
    assert change(actor, dog, now, daily_food_g=grams).energy_method == "growth-curve"


def test_method_that_does_not_stand_for_the_pup_is_refused(actor, dog, now):
    with pytest.raises(InvalidInput, match="more than 25 kg"):
        set_ration(actor, dog, EnergyMethod.LARGE_BREED, now=now)
    assert Dog.objects.get(id=dog).energy_method == ""


def test_without_weight_or_label_no_ration_is_made_up(actor, dog, now):
    Weight.objects.filter(dog_id=dog).delete()
    page = read_ration(actor, dog, now=now)
    assert "weigh the pup" in str(page.problems[0].sentence)
    assert page.comparison is None
    with pytest.raises(InvalidInput, match="weigh the pup"):
        set_ration(actor, dog, EnergyMethod.GROWTH_BANDS, now=now)
    log_weight(actor, dog, 4.2, at=now, now=now)
    Dog.objects.filter(id=dog).update(food_kcal_per_100g=None)
    page = read_ration(actor, dog, now=now)
    assert page.methods[0].grams is None
    assert page.split is None
    with pytest.raises(InvalidInput, match="label"):
        set_ration(actor, dog, EnergyMethod.GROWTH_BANDS, now=now)


def test_week_moves_the_ration_once(actor, dog, now):
    log_weight(actor, dog, 4.6, at=now, now=now, body_condition=3)
    done = move_ration_on(actor, dog, from_g=210.0, now=now)
    assert done.daily_g == pytest.approx(210 * 1.05 * (4.6 / 4.2) ** 0.75, abs=0.5)
    with pytest.raises(Conflict, match="another by now"):
        move_ration_on(actor, dog, from_g=210.0, now=now)
    with pytest.raises(Conflict, match="Weigh it first"):
        move_ration_on(actor, dog, from_g=done.daily_g, now=now)
    assert Dog.objects.get(id=dog).daily_food_g == done.daily_g


def test_what_one_week_keeps_back_comes_in_the_next(actor, dog, now):
    """At half of the grown weight the bands fall from 210 to 175, by a sixth: it takes weeks, a twentieth each."""
    Weight.objects.all().delete()
    Dog.objects.filter(id=dog).update(born_on=date(2025, 12, 30))
    weights = [18 * typical_fraction(19.0 + week, 18) for week in range(6)]
    assert weights[0] < 9 < weights[1]
    log_weight(actor, dog, weights[0], at=now, now=now, body_condition=5)
    set_ration(actor, dog, EnergyMethod.GROWTH_BANDS, now=now)
    grams = [Dog.objects.get(id=dog).daily_food_g]
    for week, weight_kg in enumerate(weights[1:], start=1):
        later = now + timedelta(weeks=week)
        log_weight(actor, dog, weight_kg, at=later, now=later, body_condition=5)
        grams.append(move_ration_on(actor, dog, from_g=grams[-1], now=later).daily_g)
    assert all(after >= before * 0.95 - 1 for before, after in pairwise(grams))
    assert grams[-1] == pytest.approx(growth_bands_kcal(weights[-1], 18) / 3.7, rel=0.01)


def test_treats_given_today_count_against_the_tenth(actor, dog, programme, new_session, now):
    from pupilage.storage.catalogue_files import load_catalogue

    step = load_catalogue().behaviours["sit"].steps[0].key
    new_session(actor, programme, "sit", step, ["met"] * 10)
    TrainingSession.objects.update(pieces_by={"dry food": 4, "cooked chicken": 20})
    log_care(actor, dog, CareEntry(CareKind.MEAL, now, amount_g=50.0), now=now)
    total = read_care_panel(actor, dog, now=now).ration
    assert total.treats_kcal == pytest.approx(20 * 0.825)
    assert total.treat_limit_kcal == pytest.approx(77.7)
    assert total.left_g == pytest.approx(210 - 50 - 4 * 0.4 - 16.5 / 3.7)


def test_session_folded_before_the_count_was_kept_by_reinforcer_counts_as_before(
    actor, dog, programme, new_session, now
):
    from pupilage.storage.catalogue_files import load_catalogue

    step = load_catalogue().behaviours["sit"].steps[0].key
    new_session(actor, programme, "sit", step, ["met"] * 10)
    assert TrainingSession.objects.get().pieces_by == {"dry food": 10}
    TrainingSession.objects.update(pieces_by=None)
    assert read_care_panel(actor, dog, now=now).ration.left_g == pytest.approx(206.0)


def test_rank_is_this_dogs_own(actor, dog, now):
    resident = Dog.objects.get(is_resident=True).id
    rank_reinforcers(actor, dog, {"cooked chicken": 2, "dry food": 1}, now=now)
    ranks = {one.name: one.rank for one in read_ration(actor, dog, now=now).rewards}
    assert ranks == {"dry food": 1, "cooked chicken": 2}
    assert {one.rank for one in read_ration(actor, resident, now=now).rewards} == {None}


def test_unknown_reinforcer_and_rank_nought_are_refused_at_once(actor, dog, now):
    with pytest.raises(InvalidInput) as raised:
        rank_reinforcers(actor, dog, {"gold": 1, "dry food": 0}, now=now)
    assert [problem.where for problem in raised.value.problems] == ["gold", "dry food"]


def test_reinforcer_with_onion_in_it_is_not_planned_with(actor, dog, now):
    save_reinforcer(actor, ReinforcerEntry("meat balls", 0.5, 250.0, ingredients="beef, onion powder"), now=now)
    rank_reinforcers(actor, dog, {"meat balls": 1}, now=now)
    page = read_ration(actor, dog, now=now)
    assert next(one for one in page.rewards if one.name == "meat balls").unsafe
    paid = {portion.reinforcer for one in page.split.sessions for portion in one.portions}
    assert "meat balls" not in paid
    assert any("meat balls" in str(one.reason) for one in page.split.short)


def test_label_from_its_analysis_is_kept_with_its_parts(actor, dog, now):
    parts = {"protein": 28.0, "fat": 15.0, "fibre": 4.0, "moisture": 10.0, "ash": 8.0}
    row = change(actor, dog, now, label_energy=None, label_unit=LabelUnit.ANALYSIS, analysis=parts)
    assert row.food_kcal_per_100g == pytest.approx(348.0)
    assert (row.food_label_unit, row.food_analysis) == ("analysis", parts)
    assert "3.87 kcal in a gram of dry matter" in str(read_ration(actor, dog, now=now).food_words)


def test_label_with_no_energy_and_a_grown_weight_below_the_present_one_are_said_at_once(actor, dog, now):
    with pytest.raises(InvalidInput) as raised:
        change(actor, dog, now, label_energy=0.0, expected_adult_weight_kg=3.0, daily_food_g=-5.0)
    assert {problem.where for problem in raised.value.problems} == {
        "energy", "expected_adult_weight_kg", "daily_food_g",
    }  # fmt: skip


def test_score_may_be_added_to_a_weighing_later(actor, dog, now):
    n_before = Weight.objects.count()
    log_weight(actor, dog, 4.6, at=now, now=now)
    log_weight(actor, dog, 4.6, at=now, now=now, body_condition=5)
    log_weight(actor, dog, 4.6, at=now, now=now, body_condition=5)
    assert Weight.objects.count() == n_before + 1
    assert Weight.objects.get(at=now).body_condition == 5
    with pytest.raises(InvalidInput, match="from 1"):
        log_weight(actor, dog, 4.6, at=now, now=now, body_condition=11)


def test_pup_out_of_age_is_told_so_on_its_page(actor, dog, now):
    Dog.objects.filter(id=dog).update(born_on=date(2026, 4, 25))
    page = read_ration(actor, dog, now=now)
    assert "still needs its dam" in str(page.problems[0].sentence)
    assert page.split is None


def test_dose_takes_the_last_weight_and_the_telephone_numbers_are_the_trainers(actor, dog, now):
    set_preferences(actor, Preferences("en", "Europe/Lisbon", "kg", "+1 555 0100", "555 0199"), now=now)
    set_preferences(actor, Preferences("en", "Europe/Lisbon", "kg"), now=now)
    page = read_eaten(actor, now=now)
    assert (page.vet_phone, page.poison_phone) == ("+1 555 0100", "555 0199")
    assert (page.dogs[0].name, page.dogs[0].weight_kg) == ("Tansy", 4.2)
    answer = answer_eaten(actor, EatenQuestion("milk-chocolate", 20.0, dog))
    assert answer.dose == pytest.approx(20 * 2.3 / 4.2)
    typed = answer_eaten(actor, EatenQuestion("milk-chocolate", 20.0, dog, weight_kg=5.0))
    assert typed.dose == pytest.approx(9.2)


@pytest.mark.parametrize("phone", ["112", "(030) 555-0199", "+1 555 0199", "0555/0199", ""])
def test_numbers_as_they_are_written_are_kept(actor, now, phone):
    set_preferences(actor, Preferences("en", "Europe/Lisbon", "kg", poison_phone=phone), now=now)
    assert read_eaten(actor, now=now).poison_phone == phone


def test_number_that_cannot_be_dialled_is_refused(actor, now):
    with pytest.raises(InvalidInput, match="cannot be dialled"):
        set_preferences(actor, Preferences("en", "Europe/Lisbon", "kg", poison_phone="call me"), now=now)


def test_another_workspaces_dog_is_not_found_and_a_reader_changes_nothing(stranger, reader, dog, now):
    with pytest.raises(NotFound):
        read_ration(stranger, dog, now=now)
    with pytest.raises(NotFound):
        answer_eaten(stranger, EatenQuestion("milk-chocolate", 20.0, dog))
    for refused in (
        lambda: set_ration(reader, dog, EnergyMethod.GROWTH_BANDS, now=now),
        lambda: move_ration_on(reader, dog, from_g=210.0, now=now),
        lambda: rank_reinforcers(reader, dog, {}, now=now),
    ):
        with pytest.raises(Forbidden):
            refused()


def test_grams_of_the_intake_grow_with_the_pup_from_its_first_weighing(actor, dog, now):
    log_weight(actor, dog, 4.6, at=now, now=now, body_condition=4)
    page = read_ration(actor, dog, now=now)
    assert page.move.factor == pytest.approx((4.6 / 4.2) ** 0.75)
    assert "It has grown" in str(page.move.why)


def test_session_is_not_begun_by_itself_with_what_must_not_be_fed(actor, dog, programme, now):
    from pupilage.services.read_reinforcers import choose_for_session
    from pupilage.storage.catalogue_files import load_catalogue

    step = load_catalogue().behaviours["sit"].steps[0].key
    for name in ("dry food", "cooked chicken"):
        save_reinforcer(actor, ReinforcerEntry(name, 0.5, 300.0, ingredients="with garlic"), now=now)
    save_reinforcer(actor, ReinforcerEntry("turkey", 0.5, 150.0, ingredients="turkey"), now=now)
    assert choose_for_session(actor, programme, "sit", step, now=now).reinforcer == "turkey"
