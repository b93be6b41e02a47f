"""A user's sound-event model: its classes by name, its scores laid on bursts of sound."""

import numpy as np
import pytest

from made_noises import alone, in_one_piece
from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.noises.event_model import (
    WINDOW,
    DogClasses,
    ModelDetector,
    dog_classes,
    read_class_names,
)
from pupilage.core.simulation.sounds.scenes import Background


class LoudIsBark:
    """A model that calls every loud window a bark."""

    classes = ("Speech", "Bark", "Whimper (dog)")

    def __init__(self):
        self.n_asked = 0

    def scores(self, window):
        assert window.shape == (WINDOW,)
        self.n_asked += 1
        return np.array([0.1, min(float(np.abs(window).max()) * 20, 1.0), 0.05], np.float32)


def test_scores_are_laid_on_the_bursts_so_that_starts_are_exact():
    scene, _ = alone(3, Background.QUIET, -62.0)
    model = LoudIsBark()
    found = in_one_piece(ModelDetector(model), scene.samples)
    barks = [start_s for kind, start_s, _ in scene.truths if kind == "bark"]
    assert barks
    assert all(min(abs(event.start_s - start_s) for event in found) < 0.06 for start_s in barks)
    assert {event.kind for event in found} == {"bark"}
    assert model.n_asked < scene.duration_s / 0.48 / 2  # quiet windows are not asked about


def test_events_of_a_model_do_not_depend_on_the_blocks():
    scene, _ = alone(3, Background.QUIET, -62.0)
    detector = ModelDetector(LoudIsBark())
    found = [
        event for at in range(0, len(scene.samples), 9973) for event in detector.feed(scene.samples[at : at + 9973])
    ]
    assert [*found, *detector.finish()] == in_one_piece(ModelDetector(LoudIsBark()), scene.samples)


def test_class_names_are_read_with_and_without_a_head():
    assert read_class_names('index,mid,display_name\n0,/m/a,Speech\n1,/m/b,"Bark, loud"\n') == ("Speech", "Bark, loud")
    assert read_class_names("0,Speech\n1,Bark\n") == ("Speech", "Bark")
    assert read_class_names("Speech\nBark\n\n") == ("Speech", "Bark")


@pytest.mark.parametrize("text", ["", "\n\n", "index,name\n", "index,name\n0\n"])
def test_an_empty_or_broken_list_of_classes_is_refused(text):
    with pytest.raises(InvalidInput):
        read_class_names(text)


def test_a_dogs_classes_are_known_by_name():
    assert dog_classes(["Speech", "Dog", "Bark", "Whimper (dog)", "Growling"]) == DogClasses((1, 2, 4), (3,))
    with pytest.raises(InvalidInput, match="None of the 2 classes"):
        dog_classes(["Speech", "Car"])
