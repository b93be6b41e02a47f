"""Words of a package or a recipe that speak of what must not be fed."""

import pytest

from pupilage.core.care.food.unsafe import (
    NOTHING_FOUND,
    Level,
    find_unsafe,
    finding_sentence,
    is_unsafe,
    list_unsafe_foods,
)


@pytest.mark.parametrize(
    ("text", "keys"),
    [
        ("Wheat, ONION powder, salt", ["onion", "salt"]),
        ("garlic cloves", ["onion"]),
        ("sweetener (E967)", ["xylitol", "nut-butter"]),
        ("sweetener E 967", ["xylitol", "nut-butter"]),
        ("birch sugar", ["xylitol"]),
        ("dark chocolates", ["chocolate"]),
        ("raisins; macadamias", ["grapes", "macadamia"]),
        ("cooked bones", ["bones"]),
        ("chicken drumsticks", ["bones"]),
        ("seasoned beef", ["seasoned"]),
        ("roast chicken", ["seasoned"]),
        ("raw dough", ["dough"]),
        ("rum", ["alcohol"]),
        ("peanut butter", ["nut-butter"]),
        ("no garlic", ["onion"]),
    ],
)
def test_what_stands_there_is_found(text, keys):
    assert [one.food.key for one in find_unsafe(text)] == keys


@pytest.mark.parametrize("text", ["", "dry food", "cooked chicken", "boneless beef", "drum roll", "grapefruit seed"])
def test_other_words_are_not_taken_for_it(text):
    assert find_unsafe(text) == ()


def test_never_fed_comes_before_what_is_looked_at():
    found = find_unsafe("roast beef with onion and salt")
    assert [one.food.level for one in found] == [Level.NEVER, Level.ASK, Level.AMOUNT]
    assert is_unsafe("onion rings")
    assert not is_unsafe("roast beef")


def test_every_entry_has_words_and_a_reason():
    foods = list_unsafe_foods()
    assert len({food.key for food in foods}) == len(foods)
    for food in foods:
        assert food.words
        assert food.why.endswith(".")
        for word in food.words:
            assert any(one.food is food for one in find_unsafe(f"with {word}, boiled")), word


def test_a_finding_is_said_and_nothing_found_is_no_all_clear():
    said = str(finding_sentence(find_unsafe("leek")[0]))
    assert said.startswith("Do not feed this: “leek” stands there")
    assert "no all-clear" in str(NOTHING_FOUND)
