"""A small catalogue text that is right in every field, for tests that change it."""

from pupilage.core.catalogue.loading import SourceText

DISTRACTIONS = 'distractions = ["none", "still", "far", "near", "hard", "hardest"]\n'

TURN = """
[[behaviour]]
key = "turn"
name = "Turns round"
definition = "All four feet turn once round on the spot."
cue = "Turn"
scoring = "trial"
prerequisites = []
min_age_weeks = 8
target = "word"
maintain_every_days = 7
weight = 1
safety = ["Non-slip ground."]

[behaviour.outcomes]
met = "Once round."
missed = "Less than once round."
helped = "A second cue."
void = "Somebody came in."

[[behaviour.steps]]
key = "lure"
summary = "Food leads round."
duration_s = 0
distance_m = 0.5
distraction = 0
place = "quiet-room"
prompt = "lure"
latency_s = 3

[[behaviour.steps]]
key = "word"
summary = "The word alone."
duration_s = 0
distance_m = 0.5
distraction = 0
place = "quiet-room"
prompt = "cue"
"""

SPINNING = """
[[unwanted]]
key = "spinning"
name = "Spins"
definition = "Three turns or more without a pause."
arrange = ["Short days."]
replacement = "Lies down."
replacement_behaviour = "turn"
record = ["How many turns."]
safety = ["A dog that spins often goes to a veterinarian."]
"""

WHOLE = DISTRACTIONS + TURN + SPINNING


def source(text: str, name: str = "mine.toml") -> SourceText:
    """Return a text as a source."""
    return SourceText(name, text)
