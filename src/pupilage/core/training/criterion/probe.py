"""Cold probes: a few tries without help or practice before them. They measure and teach nothing."""

from pupilage.core.words import Sentence, sentence

PROBE_TRIALS = 4
"""Tries of one probe. Common practice, no source: enough to see where the dog begins, too few to be practice."""


def probe_advice(n_trials: int) -> Sentence:
    """Return what to do next in a probe after `n_trials` tries that count."""
    if n_trials >= PROBE_TRIALS:
        return sentence("{n} cold tries are enough: end here, and train another time.", n=n_trials)
    return sentence("A cold try: one cue, no help, no second cue. {n} of {need} done.", n=n_trials, need=PROBE_TRIALS)
