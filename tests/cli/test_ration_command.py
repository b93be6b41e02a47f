"""`pupilage ration`: with a programme and without one, for people and for programs."""

import json

import pytest

GIVEN = ("ration", "--weight-kg", "5", "--adult-weight-kg", "20", "--age-weeks", "12")


def test_pup_that_is_not_on_record_needs_no_database(run):
    shown = run(*GIVEN)
    assert shown.exit_code == 0
    for words in ("growth-bands *", "702", "980", "never held back", "Give --kcal-per-100g"):
        assert words in shown.output


def test_grams_bowl_and_pouch_follow_from_the_label(run):
    found = json.loads(run(*GIVEN, "--kcal-per-100g", "370", "--json").output)
    assert found["method"] == "growth-bands"
    assert found["energy_kcal"] == pytest.approx(702.2, abs=0.05)
    # 5 kg, 370 kcal per 100 g: a tenth is 70.2 kcal
    assert found["split"]["treat_limit_kcal"] == pytest.approx(70.2, abs=0.05)
    assert found["split"]["food_g"] == pytest.approx(702.177 / 3.7, abs=0.01)
    assert found["split"]["enough"]
    assert len(found["split"]["meals"]) == 3


def test_plan_without_enough_food_says_so(run):
    shown = run(*GIVEN, "--kcal-per-100g", "370", "--sessions", "10", "--minutes", "5", "--rate", "15")
    assert "Not enough food for this plan" in shown.output


def test_everything_that_cannot_be_is_said_at_once(run):
    from pupilage.cli.failing import EXIT_CODES

    done = run(
        "ration", "--weight-kg", "5", "--adult-weight-kg", "4", "--age-weeks", "3", "--kcal-per-100g", "0",
        "--minutes", "-3", "--piece-g", "-1",
    )  # fmt: skip
    assert done.exit_code == EXIT_CODES["invalid"]
    for words in ("still needs its dam", "is under the weight now", "is no food", "-3.0 min", "-1.0 g is no piece"):
        assert words in done.output


@pytest.mark.parametrize(
    "wrong", [("--age-weeks", "12"), ("--weight-kg", "5"), ("--adult-weight-kg", "20"), ("--kcal-per-100g", "370")]
)
def test_what_is_missing_is_named(run, wrong):
    done = run("ration", *wrong)
    assert done.exit_code == 2
    assert "energy goes by weight and age" in done.output


@pytest.mark.parametrize("age", ["60", "nan", "-1"])
def test_age_out_of_range_is_a_sentence(run, age):
    done = run("ration", "--weight-kg", "5", "--age-weeks", age)
    assert done.exit_code == 2
    assert "Traceback" not in done.output


@pytest.mark.django_db
def test_running_stay_is_read_from_the_record(run, programme):
    shown = run("ration")
    assert shown.exit_code == 0
    for words in ("Fed by what was said: 210 g a day.", "Today: 210 g of 210 g left.", "dry food", "This week:"):
        assert words in shown.output
    found = json.loads(run("ration", "--json").output)
    assert found["daily_food_g"] == 210.0
    assert found["split"]["enough"] is True
    assert found["methods"][0]["method"] == "resting-by-age"


@pytest.mark.django_db
def test_programme_that_does_not_exist_is_refused_in_a_sentence(run, programme):
    done = run("ration", "00000000-0000-4000-8000-000000000000")
    assert done.exit_code == 3


@pytest.mark.django_db
def test_pup_that_was_never_weighed_is_told_so_in_text_and_in_json(run, programme):
    from pupilage.storage.models import Weight

    Weight.objects.all().delete()
    assert "There is no weight yet" in run("ration").output
    found = json.loads(run("ration", "--json").output)
    assert found["problems"] == ["There is no weight yet: weigh the pup, then its energy can be worked out."]
    assert (found["comparison"], found["split"]) == (None, None)
