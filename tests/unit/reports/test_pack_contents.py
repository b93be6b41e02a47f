"""What the pack says, from facts: every figure on the page is one that can be traced; low reading grade; bad input."""

import json
from dataclasses import replace
from datetime import date, time

import pytest

from pupilage.core.catalogue.behaviour import Place
from pupilage.core.catalogue.loading import load_bundled
from pupilage.core.errors import NotFound
from pupilage.core.handover.facts import (
    AloneFacts,
    FoodFacts,
    FoodWeek,
    GoalFacts,
    OutingFacts,
    PackFacts,
    UnwantedFacts,
)
from pupilage.core.handover.places import PlaceCount
from pupilage.core.handover.reading_grade import grade
from pupilage.core.handover.weeks import Upkeep
from pupilage.core.units import WeightUnit
from pupilage.reports.pack.contents import read_through, write_contents
from pupilage.reports.pack.options import Language, PackOptions, Paper

CATALOGUE = load_bundled()
MOST_LIX, MOST_SCHOOL_YEARS = 35, 5
"""Below 40 reads like a children's book or a simple story (Björnsson's table, from memory); we stay lower still."""


def goal(key="sit", n_met=18, n=20):
    behaviour = CATALOGUE.behaviours[key]
    step = behaviour.steps[3]
    counts = (PlaceCount(Place.QUIET_ROOM, n_met, n, step.key if n_met else ""), PlaceCount(Place.GARDEN, 0, 0))
    upkeep = Upkeep(date(2026, 5, 25), 3, ((0, 0.91), (7, 0.8), (28, 0.62)))
    return GoalFacts(behaviour, behaviour.steps[3], counts, n, (date(2026, 5, 3), date(2026, 5, 12)), 0, True, upkeep)


def untried(key):
    behaviour = CATALOGUE.behaviours[key]
    return GoalFacts(behaviour, behaviour.steps[-1], (PlaceCount(Place.QUIET_ROOM, 0, 0),), 0, None, 0, False, None)


FACTS = PackFacts(
    dog="Tansy",
    family="Linden house",
    trainer="Wren's yard",
    handover_on=date(2026, 5, 23),
    made_on=date(2026, 5, 12),
    goals=(goal(), untried("recall")),
    outings=OutingFacts(70, 175, 350, (80, 80, 85, 90, 95, 100, 105, 110), 247, 0.05),
    alone=AloneFacts((45.0, 60.0, 65.0, 90.0, 120.0, 165.0, 195.0, 255.0), 40, 77.0, panicked=False),
    food=FoodFacts(
        "dry food", 205.0, 4, (6.71, date(2026, 5, 11)), None,
        tuple(FoodWeek(8.0 + i, 230.0 + 9 * i) for i in range(8)),
    ),
    wake=time(6, 30),
    last_outing=time(22, 30),
    meals=(time(7), time(12)),
    unwanted=tuple(UnwantedFacts(one, one.arrange, None, 3, planned=False) for one in CATALOGUE.unwanted.values()),
    residents=("Moss",),
    vet_dates=((date(2026, 5, 15), "second vaccination"),),
    vet_phone="",
    poison_phone="",
    signs="",
    release_word="Free",
    house_rules=(),
    note="",
)  # fmt: skip


def said(facts=FACTS, **options):
    return write_contents(facts, PackOptions(**options))


def whole(contents):
    return json.dumps(contents.data, ensure_ascii=False).replace("\N{NO-BREAK SPACE}", " ")


@pytest.mark.parametrize("language", list(Language))
def test_whole_catalogue_in_a_pack_is_easy_to_read(language):
    every = replace(FACTS, goals=tuple(goal(key) for key in CATALOGUE.behaviours))
    found = grade(read_through(said(every, language=language)))
    assert found.n_words > 3000
    assert found.lix < MOST_LIX
    assert language is not Language.EN or found.school_years < MOST_SCHOOL_YEARS


def test_numbers_of_tries_stand_in_words_with_where_they_work():
    shown = whole(said())
    assert "A quiet room: 18 of the last 20 tries worked." in shown
    assert "The garden: not tried yet." in shown
    assert "Ein ruhiges Zimmer: 18 der letzten 20 Versuche klappten." in whole(said(language=Language.DE))


def test_every_number_beside_a_text_is_a_figure_that_can_be_traced_by_it_and_by_name():
    contents = said()
    numbers = {n for block in cells(contents.data) for n in block["figures"]} | set(contents.data["under_figures"])
    assert numbers == {one.number for one in contents.figures.found.values()}
    for figure in contents.figures.found.values():
        assert contents.figures.of(str(figure.number)) is contents.figures.of(figure.key) is figure


def cells(data):
    if isinstance(data, dict):
        if isinstance(data.get("figures"), list) and "text" in data:
            yield data
        for value in data.values():
            yield from cells(value)
    elif isinstance(data, list):
        for value in data:
            yield from cells(value)


def test_name_of_a_figure_that_is_not_there_is_refused_with_names_near_it():
    with pytest.raises(NotFound) as refused:
        said().figures.of("sit.moon")
    assert "sit.quiet-room" in str(refused.value)


def test_names_of_figures_are_the_same_in_every_language():
    english, german = said(), said(language=Language.DE)
    assert list(english.figures.found) == list(german.figures.found)
    values = [[one.value for one in each.figures.found.values()] for each in (english, german)]
    assert values[0] == values[1]


def test_weights_are_in_the_unit_that_was_asked_for():
    assert "6.7 kg" in whole(said())
    pounds = whole(said(unit=WeightUnit.LB))
    assert "14.8 lb" in pounds
    assert "6.7 kg" not in pounds


def test_paper_and_print_are_told_to_the_typesetter():
    data = said(paper=Paper.LETTER, large=True).data
    assert (data["paper"], data["large"]) == ("us-letter", True)


def test_dates_are_written_as_the_language_does():
    assert "23 May – 5 Jun" in whole(said())
    assert "23. Mai – 5. Jun" in whole(said(language=Language.DE))


def test_behaviour_never_tried_says_so_and_begins_at_the_first_step():
    section = next(one for one in said().data["sections"] if one["title"] == "Comes when called")
    shown = json.dumps(section, ensure_ascii=False)
    assert "It was never practised here." in shown
    assert CATALOGUE.behaviours["recall"].steps[0].summary in shown


def test_stay_without_goals_outings_weight_or_ration_says_what_is_missing():
    bare = replace(
        FACTS, goals=(), outings=None, residents=(), vet_dates=(), meals=(),
        alone=AloneFacts((5.0,) * 8, 0, None, panicked=False),
        food=FoodFacts("", None, 4, None, None, (FoodWeek(None, None),) * 8),
    )  # fmt: skip
    shown = whole(said(bare))
    for words in (
        "No goals were set",
        "we have no outing times",
        "It was not weighed here",
        "The ration was not written",
    ):
        assert words in shown


def test_panic_stands_before_everything_about_time_alone():
    facts = replace(FACTS, alone=AloneFacts((None,) * 8, 3, None, panicked=True))
    shown = whole(said(facts))
    assert "It has panicked alone" in shown
    assert "not alone" in shown


def test_own_rules_and_note_of_the_trainer_stand_as_they_were_written():
    note = "\n".join(f"Line {i} of a long note, with #markup, $maths$ and `code`." for i in range(500))
    contents = said(replace(FACTS, house_rules=("No shoes upstairs.",), note=note))
    assert "No shoes upstairs." in whole(contents)
    assert contents.data["sections"][-1]["blocks"][499]["cells"][0]["text"].startswith("Line 499")


def test_no_text_offers_a_correction_as_a_method():
    for word in ("punish it", "tell it off", "scold", "smack"):
        assert word not in whole(said()).lower()


def test_seconds_that_a_definition_speaks_of_stand_beside_it_unrounded():
    behaviour = CATALOGUE.behaviours["name-response"]
    half = next(step for step in behaviour.steps if step.criterion.latency_s == 1.5)
    contents = said(replace(FACTS, goals=(replace(goal("name-response"), target=half),)))
    assert "Begins within 1.5 s." in whole(contents)
    assert contents.figures.of("name-response.seconds").value == 1.5
