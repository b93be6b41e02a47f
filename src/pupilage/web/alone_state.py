"""What the page with the clock needs to run by itself: the proposed length, and its words."""

from typing import Any

from django.utils.translation import gettext

from pupilage.services.read_alone import AlonePage
from pupilage.web.words import said


def leave_state(page: AlonePage) -> dict[str, Any]:
    """Return the proposal as JSON's own types."""
    first = page.proposed[0]
    return {"dog": str(page.dog_id), "planned_s": first.seconds, "reason": said(first.reason)}


def leave_words() -> dict[str, str]:
    """Return the sentences that the page says by itself."""
    return {
        "planned": gettext("of {time} planned"),
        "be_back": gettext("Time to be back."),
        "too_long": gettext("A sign: that was too long for today. Go in calmly; the next one is shorter."),
        "panic": gettext("Go in now. If it is hurt, a veterinarian sees it today."),
        "saving": gettext("Writing down…"),
        "no_answer": gettext("Pupilage does not answer. The absence is kept on this phone; try again."),
        "signed_out": gettext(
            "You are signed out. The absence is kept on this phone: sign in and open this page again."
        ),
        "other_owner": gettext("Somebody else is signed in. The absence is kept on this phone for whoever timed it."),
        "really": gettext("Tap again to throw it away"),
        "cannot_keep": gettext("This browser keeps nothing: leave the page open until you are back."),
        "clock_back": gettext("The phone's clock was set back meanwhile: write this absence down by hand."),
    }
