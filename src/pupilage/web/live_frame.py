"""What the session screen carries whatever session it shows: words, rules, signs, causes."""

from typing import Any

from pupilage.core.training.record.mat import CAUSE_WORDS
from pupilage.core.training.record.seen import MOUTH_WORDS, SIGN_WORDS
from pupilage.services.read_phone_day import NOWHERE
from pupilage.web.live_words import live_words
from pupilage.web.phone_rules import rules_state
from pupilage.web.words import said


def live_frame() -> dict[str, Any]:
    """Return the part of the page's context that is the same for everybody."""
    return {
        "page_words": live_words(),
        "rules": rules_state(),
        "any_id": NOWHERE,
        "signs": [(sign.value, said(words)) for sign, words in SIGN_WORDS.items()],
        "mouths": [(mouth, said(words)) for mouth, words in MOUTH_WORDS.items()],
        "causes": [(cause.value, said(words)) for cause, words in CAUSE_WORDS.items()],
    }
