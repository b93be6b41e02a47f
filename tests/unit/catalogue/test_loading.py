"""Reading catalogue files: what is accepted, what overrides what, and every fault by its place."""

import pytest

from pupilage.core.catalogue.behaviour import Criterion, Place, Prompt, Scoring
from pupilage.core.catalogue.loading import (
    SourceText,
    bundled_sources,
    catalogue_from,
    load_bundled,
    parse_catalogue,
)
from pupilage.core.errors import InvalidInput
from unit.catalogue.sample import DISTRACTIONS, SPINNING, TURN, WHOLE, source


def faults_of(*sources: SourceText) -> dict[str, str]:
    """Return the faults of sources laid over the sample, as place and sentence."""
    with pytest.raises(InvalidInput) as caught:
        parse_catalogue([source(WHOLE, "base.toml"), *sources])
    return {problem.where: str(problem.sentence) for problem in caught.value.problems}


def faults_of_text(text: str) -> dict[str, str]:
    return faults_of(source(text))


def second(text: str, old: str, new: str) -> str:
    """Return the text with its second `old` replaced."""
    first, middle, rest = text.split(old, 2)
    return f"{first}{old}{middle}{new}{rest}"


def test_a_whole_file_is_read_field_by_field():
    catalogue = parse_catalogue([source(WHOLE)])
    turn = catalogue.behaviours["turn"]
    assert (turn.name, turn.scoring, turn.weight, turn.target) == ("Turns round", Scoring.TRIAL, 1, "word")
    assert turn.steps[0].criterion == Criterion(0.0, 0.5, 0, Place.QUIET_ROOM, Prompt.LURE, 3.0)
    assert turn.steps[1].criterion.latency_s is None
    assert turn.outcomes.void == "Somebody came in."
    assert catalogue.unwanted["spinning"].replacement_behaviour == "turn"
    assert catalogue.distractions[5] == "hardest"


def test_same_sources_give_equal_catalogues():
    assert parse_catalogue(bundled_sources()) == load_bundled()
    assert catalogue_from([]) is load_bundled()


def test_byte_order_mark_at_the_start_is_no_fault():
    assert parse_catalogue([source("\ufeff" + WHOLE)]).behaviours


def test_several_lines_of_text_become_one():
    text = WHOLE.replace('"Turns round"', '"""Turns\n   round"""')
    assert parse_catalogue([source(text)]).behaviours["turn"].name == "Turns round"


def test_own_file_adds_a_behaviour_to_ours():
    catalogue = catalogue_from([source(TURN)])
    assert set(catalogue.behaviours) == {*load_bundled().behaviours, "turn"}


def test_override_changes_only_the_fields_it_names():
    ours = load_bundled().behaviours["recall"]
    own = catalogue_from([source('[[behaviour]]\nkey = "recall"\ncue = "Vem"\nweight = 4')])
    recall = own.behaviours["recall"]
    assert (recall.cue, recall.weight) == ("Vem", 4)
    assert recall.steps == ours.steps
    assert recall.definition == ours.definition
    assert load_bundled().behaviours["recall"].cue == ours.cue


def test_override_keeps_the_place_in_the_order():
    own = catalogue_from([source('[[behaviour]]\nkey = "recall"\ncue = "Vem"')])
    assert list(own.behaviours) == list(load_bundled().behaviours)


def test_the_later_of_two_own_files_wins():
    first, later = (source(f'[[behaviour]]\nkey = "sit"\ncue = "{word}"', f"{word}.toml") for word in ("Sitz", "Assis"))
    assert catalogue_from([first, later]).behaviours["sit"].cue == "Assis"


def test_override_of_the_steps_takes_all_of_them():
    step = TURN[TURN.index('key = "word"') :]
    text = f'[[behaviour]]\nkey = "turn"\n[[behaviour.steps]]\n{step}'
    turn = parse_catalogue([source(WHOLE), source(text)]).behaviours["turn"]
    assert [each.key for each in turn.steps] == ["word"]


def test_override_can_take_a_replacement_behaviour_away():
    text = '[[unwanted]]\nkey = "spinning"\nreplacement_behaviour = ""'
    assert parse_catalogue([source(WHOLE), source(text)]).unwanted["spinning"].replacement_behaviour is None


def test_own_distractions_replace_ours():
    assert catalogue_from([source(DISTRACTIONS)]).distractions[0] == "none"


def test_nothing_at_all_lacks_the_distractions():
    with pytest.raises(InvalidInput, match="list of distractions is missing"):
        parse_catalogue([])


@pytest.mark.parametrize(
    ("old", "new", "where", "says"),
    [
        ('name = "Turns round"', "name = 3", "turn.name", "3 is not a text"),
        ('name = "Turns round"', 'name = "  "', "turn.name", "empty"),
        ('name = "Turns round"', 'name = "a\\u0000b"', "turn.name", "control character"),
        ('name = "Turns round"\n', "", "turn", "field name is missing"),
        ('cue = "Turn"', 'cue = "Turn"\nsignal = "x"', "turn", "no field “signal”"),
        ('scoring = "trial"', 'scoring = "stopwatch"', "turn.scoring", "use one of: trial, hold"),
        ('scoring = "trial"', "scoring = []", "turn.scoring", "a list is unknown here"),
        ("min_age_weeks = 8", "min_age_weeks = 8.5", "turn.min_age_weeks", "not a whole number"),
        ("min_age_weeks = 8", "min_age_weeks = true", "turn.min_age_weeks", "true is not a whole number"),
        ("min_age_weeks = 8", "min_age_weeks = -1", "turn.min_age_weeks", "from 0 to"),
        ("maintain_every_days = 7", "maintain_every_days = 0", "turn.maintain_every_days", "from 1 to"),
        ("weight = 1", "weight = 6", "turn.weight", "from 1 to 5"),
        ('target = "word"', 'target = "nowhere"', "turn.target", "use one of: lure, word"),
        ('target = "word"', 'target = "No Where"', "turn.target", "cannot be a key"),
        ("prerequisites = []", 'prerequisites = ["fly"]', "turn.prerequisites", "no behaviour “fly”"),
        ("prerequisites = []", 'prerequisites = "sit"', "turn.prerequisites", "is not a list"),
        ("prerequisites = []", 'prerequisites = ["turn"]', "turn.prerequisites", "turn → turn"),
        ('safety = ["Non-slip ground."]', 'safety = ["a", 2]', "turn.safety.2", "2 is not a text"),
        ("duration_s = 0", "duration_s = -1", "turn.steps.1.duration_s", "-1 is not a number from 0"),
        ("duration_s = 0", "duration_s = nan", "turn.steps.1.duration_s", "nan is not a number"),
        ("duration_s = 0", "duration_s = inf", "turn.steps.1.duration_s", "inf is not a number"),
        ("duration_s = 0", 'duration_s = "5"', "turn.steps.1.duration_s", "“5” is not a number"),
        ("duration_s = 0", f"duration_s = 0x1{'0' * 5000}", "turn.steps.1.duration_s", "very large number"),
        ("distance_m = 0.5", "distance_m = -0.5", "turn.steps.1.distance_m", "-0.5 is not a number"),
        ("distraction = 0", "distraction = 6", "turn.steps.1.distraction", "from 0 to 5"),
        ("distraction = 0", "distraction = 1.5", "turn.steps.1.distraction", "from 0 to 5"),
        ('place = "quiet-room"', 'place = "moon"', "turn.steps.1.place", "quiet-room, home, garden"),
        ('prompt = "lure"', 'prompt = "push"', "turn.steps.1.prompt", "use one of: lure, target"),
        ("latency_s = 3", "latency_s = 0", "turn.steps.1.latency_s", "0 is not a number from 0.1"),
        ('summary = "Food leads round."\n', "", "turn.steps.1", "field summary is missing"),
        ('key = "lure"', 'key = "word"', "turn.steps.2.key", "“word” is used twice"),
        ('void = "Somebody came in."\n', "", "turn.outcomes", "field void is missing"),
        ('key = "spinning"', 'key = "Spin!"', "unwanted.1.key", "cannot be a key"),
        ('key = "spinning"\n', "", "unwanted.1", "field key is missing"),
        ('arrange = ["Short days."]', "arrange = []", "spinning.arrange", "list is empty"),
        ('= "turn"\nrecord', '= "fly"\nrecord', "spinning.replacement_behaviour", "no behaviour “fly”"),
        ('"hardest"]', "]", "distractions", "There are 5 items; write exactly 6"),
    ],
)
def test_each_fault_is_named_with_its_place(old, new, where, says):
    assert old in WHOLE
    text = WHOLE.replace(old, new, 1)
    with pytest.raises(InvalidInput) as caught:
        parse_catalogue([source(text)])
    found = {problem.where: str(problem.sentence) for problem in caught.value.problems}
    assert list(found) == [f"mine.toml: {where}"]
    assert says in found[f"mine.toml: {where}"]


@pytest.mark.parametrize(
    ("text", "where", "says"),
    [
        ("[[behaviour]\n", "mine.toml", "not valid TOML"),
        ("a = 1,5", "mine.toml", "decimal point"),
        (f"a = {'1' * 5000}", "mine.toml", "not valid TOML"),
        ("a = " + "[" * 5000, "mine.toml", "nested too deeply"),
        ("[[behavior]]\nkey = 'x'", "mine.toml", "no part “behavior”"),
        ("[behaviour]\nkey = 'turn'", "mine.toml: behaviour", "Begin each entry with [[behaviour]]"),
        ("behaviour = [1]", "mine.toml: behaviour.1", "1 is not a table"),
        ("[[behaviour]]\nkey = 'turn'\nsteps = [3]", "mine.toml: turn.steps.1", "3 is not a table"),
        ("[[behaviour]]\nkey = 'turn'\nsteps = []", "mine.toml: turn.steps", "list is empty"),
        ("[[behaviour]]\nkey = 'turn'\noutcomes = 'no'", "mine.toml: turn.outcomes", "is not a table"),
        ("[[behaviour]]\nkey = 'turn'\ntarget = 'gone'", "mine.toml: turn.target", "not a step"),
        ("[[behaviour]]\nkey = 'turn'\n[[behaviour]]\nkey = 'turn'", "mine.toml: behaviour.2.key", "twice"),
    ],
)
def test_faults_of_form_are_named_with_the_file(text, where, says):
    found = faults_of_text(text)
    assert list(found) == [where]
    assert says in found[where]


def test_a_hold_with_no_seconds_is_refused_at_every_step():
    found = faults_of_text('[[behaviour]]\nkey = "turn"\nscoring = "hold"')
    assert list(found) == ["base.toml: turn.steps.1.duration_s", "base.toml: turn.steps.2.duration_s"]


def test_a_circle_is_reported_where_the_last_file_closes_it():
    more = TURN.replace('key = "turn"', 'key = "other"').replace("prerequisites = []", 'prerequisites = ["turn"]')
    closing = source('[[behaviour]]\nkey = "turn"\nprerequisites = ["other"]', "closing.toml")
    found = faults_of(source(more, "more.toml"), closing)
    assert list(found) == ["closing.toml: turn.prerequisites"]
    assert "turn" in found["closing.toml: turn.prerequisites"]
    assert "other" in found["closing.toml: turn.prerequisites"]


def test_two_circles_are_both_reported():
    pairs = [("a", "b"), ("b", "a"), ("c", "d"), ("d", "c")]
    texts = [
        TURN.replace('key = "turn"', f'key = "{key}"').replace("prerequisites = []", f'prerequisites = ["{other}"]')
        for key, other in pairs
    ]
    with pytest.raises(InvalidInput) as caught:
        parse_catalogue([source(WHOLE + "".join(texts))])
    assert len(caught.value.problems) == 2


def test_all_faults_of_all_files_come_at_once():
    text = WHOLE.replace("weight = 1", "weight = 9").replace('prompt = "lure"', 'prompt = "shout"')
    text = second(text, "distraction = 0", "distraction = 7").replace('record = ["How many turns."]\n', "")
    with pytest.raises(InvalidInput) as caught:
        parse_catalogue([source(text, "one.toml"), source("x = [", "two.toml")])
    assert {problem.where for problem in caught.value.problems} == {
        "one.toml: turn.weight",
        "one.toml: turn.steps.1.prompt",
        "one.toml: turn.steps.2.distraction",
        "one.toml: spinning",
        "two.toml",
    }


def test_a_faulty_behaviour_is_still_known_to_those_that_need_it():
    other = TURN.replace('key = "turn"', 'key = "other"').replace("prerequisites = []", 'prerequisites = ["turn"]')
    broken = TURN.replace("weight = 1", "weight = 9")
    with pytest.raises(InvalidInput) as caught:
        parse_catalogue([source(DISTRACTIONS + broken + other + SPINNING)])
    assert [problem.where for problem in caught.value.problems] == ["mine.toml: turn.weight"]


def test_long_values_are_shortened_in_messages():
    found = faults_of_text(f'[[behaviour]]\nkey = "turn"\nscoring = "{"x" * 500}"')
    assert len(found["mine.toml: turn.scoring"]) < 120


def test_find_returns_none_for_an_unknown_key():
    catalogue = load_bundled()
    assert catalogue.find_behaviour("fly") is None
    assert catalogue.find_unwanted("fly") is None
    assert catalogue.behaviours["sit"].step("fly") is None
