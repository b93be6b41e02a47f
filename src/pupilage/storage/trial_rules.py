"""The rules by which events are folded into trials, as the catalogue has them."""

from functools import lru_cache

from pupilage.core.catalogue.behaviour import Scoring
from pupilage.core.recordings.trial_rules import TrialRules
from pupilage.storage.catalogue_files import load_catalogue


def rules_of_catalogue() -> TrialRules:
    """Return the rules: behaviours that are scored as a hold stay open until the release."""
    behaviours = load_catalogue().behaviours.values()
    return _rules(frozenset(one.key for one in behaviours if one.scoring is Scoring.HOLD))


@lru_cache(maxsize=4)
def _rules(held: frozenset[str]) -> TrialRules:
    return TrialRules(hold_cues=held)
