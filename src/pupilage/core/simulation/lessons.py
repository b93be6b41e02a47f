"""What this pup is taught, and how it comes to it: some of it well on, some stuck, one barely begun."""

from dataclasses import dataclass

from pupilage.core.simulation.course import Traits


@dataclass(frozen=True)
class Lesson:
    """A behaviour of the catalogue, and how this pup takes to it."""

    behaviour: str
    traits: Traits


LESSONS = (
    Lesson("name-response", Traits(skill=2.6, rate=0.14, share=1.2)),
    Lesson("sit", Traits(skill=2.8, rate=0.13, share=0.9)),
    Lesson("handling", Traits(skill=2.3, rate=0.15, share=1.1, reinforcer="soaked kibble")),
    Lesson("harness-on", Traits(skill=2.5, rate=0.13, share=0.9, reinforcer="soaked kibble")),
    Lesson("recall", Traits(skill=2.2, rate=0.11, share=1.6, reinforcer="roast chicken")),
    Lesson("settle-on-mat", Traits(skill=2.2, rate=0.18, share=1.5, wall=(5, 1.0), reinforcer="soaked kibble")),
    Lesson("go-to-crate", Traits(skill=2.2, rate=0.09, share=1.2, wall=(3, 1.2))),
    Lesson("drop", Traits(skill=2.1, rate=0.09, share=0.9, reinforcer="cheddar", from_day=4)),
    Lesson("loose-lead", Traits(skill=2.0, rate=0.05, share=1.4, wall=(2, 1.0), reinforcer="cheddar")),
    Lesson("wait-at-door", Traits(skill=2.3, rate=0.07, share=0.6, from_day=9)),
)
"""Chosen by hand for a picture with something to decide in it; the numbers are ours and stand for no real pup."""
