"""What every document that is typeset says of itself: language, paper, day, title, foot."""

from datetime import date
from typing import Any

from pupilage.reports.pack.options import PackOptions


def frame_of(options: PackOptions, made_on: date, **texts: str) -> dict[str, Any]:
    """Return a document's frame for the typesetter.

    texts: dog, nameless, title, under, author, foot; all in the document's language.
    """
    return {
        "language": options.language.value,
        "paper": {"a4": "a4", "letter": "us-letter"}[options.paper.value],
        "large": options.large,
        "made": [made_on.year, made_on.month, made_on.day],
        **texts,
    }
