"""Our own list of what to meet, and what a faulty file is told."""

import pytest

from pupilage.core.care.exposures.item import ExposureGroup, VetTopic
from pupilage.core.care.exposures.loading import bundled_sources, load_exposures, parse_exposures
from pupilage.core.catalogue.loading import SourceText
from pupilage.core.errors import InvalidInput

ITEMS = list(load_exposures().items.values())

SOUND = """
[[exposure]]
key = "bell"
group = "sounds"
name = "A bell"
begin = "Softly."
watch = "Ears."
target = 3
weight = 2
minutes = 2
"""


def refused(text: str) -> str:
    with pytest.raises(InvalidInput) as error:
        parse_exposures([SourceText("own.toml", text)])
    return str(error.value)


def test_there_are_sixty_items_in_seven_groups_of_six_or_more():
    assert 45 <= len(ITEMS) <= 60
    for group in ExposureGroup:
        assert sum(one.group is group for one in ITEMS) >= 6


def test_each_file_holds_one_group():
    for source in bundled_sources():
        items = parse_exposures([source]).items.values()
        assert {one.group.value for one in items} == {source.name.removesuffix(".toml")}


def test_items_stand_group_by_group():
    order = list(ExposureGroup)
    assert [order.index(one.group) for one in ITEMS] == sorted(order.index(one.group) for one in ITEMS)


def test_every_item_says_how_to_begin_and_what_to_watch_in_whole_sentences():
    for one in ITEMS:
        for text in (one.begin, one.watch, *([one.until_then] if one.vet_topic else [])):
            assert text[0].isupper(), one.key
            assert text.endswith("."), one.key


def test_nothing_is_wanted_stronger_than_a_busy_day_and_nothing_lasts_longer_than_ten_minutes():
    assert max(one.target for one in ITEMS) <= 4
    assert max(one.minutes for one in ITEMS) <= 10


def test_public_ground_other_dogs_and_puppy_meetings_wait_for_the_veterinarian():
    waits = {one.key: one.vet_topic for one in ITEMS if one.vet_topic}
    assert waits["quiet-street"] is VetTopic.GROUND
    assert waits["park-edge"] is VetTopic.GROUND
    assert waits["known-vaccinated-dog"] is VetTopic.DOGS
    assert waits["puppy-meeting"] is VetTopic.PUPPIES
    assert set(waits.values()) == set(VetTopic)


def test_no_text_offers_force():
    words = " ".join(f"{one.begin} {one.watch} {one.until_then}" for one in ITEMS).lower()
    for word in ("correct", "punish", "jerk", "scold", "force", "drag"):
        assert word not in words


def test_all_faults_of_a_file_are_told_at_once():
    text = SOUND.replace("target = 3", "target = 9").replace('group = "sounds"', 'group = "noises"')
    told = refused(text.replace("minutes = 2", "minuets = 2"))
    for part in ("bell.target", "bell.group", "minuets", "minutes is missing"):
        assert part in told


def test_key_that_stands_twice_in_a_file_is_refused():
    assert "stands twice" in refused(SOUND + SOUND)


def test_later_file_overrides_field_by_field():
    later = SourceText("b.toml", '[[exposure]]\nkey = "bell"\nweight = 5')
    bell = parse_exposures([SourceText("a.toml", SOUND), later]).items["bell"]
    assert (bell.weight, bell.begin) == (5, "Softly.")


@pytest.mark.parametrize(
    ("added", "told"),
    [
        ("first_m = 4.0", "Give both first_m and nearest_m"),
        ("first_m = 4.0\nnearest_m = 6.0", "6 m is farther than the 4 m to begin at"),
        ('vet_topic = "ground"', "needs until_then"),
        ('until_then = "Wait."', "needs until_then"),
        ("first_m = nan\nnearest_m = 1.0", "is not a number from 0 to 200"),
    ],
)
def test_fields_that_do_not_fit_each_other_are_told(added, told):
    assert told in refused(SOUND + added)


@pytest.mark.parametrize("text", ["exposure = 3", "[other]\na = 1", "[[exposure]]\nkey = 'a b'", "]"])
def test_other_text_is_refused_in_a_sentence(text):
    assert refused(text)
