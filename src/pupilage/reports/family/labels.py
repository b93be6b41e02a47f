"""The short words of the family's page: headings, buttons, what a refusal says."""

from collections.abc import Mapping

from pupilage.reports.family.tongue import FamilyTongue


def labels_of(t: FamilyTongue) -> Mapping[str, str]:
    """Return every short word of the page by its name in the template."""
    return {
        "can": t.of("What it can do"),
        "know": t.of("How we know"),
        "home": t.of("What to do at home"),
        "outings": t.of("Out to the toilet"),
        "food": t.of("Food"),
        "safety": t.of("When to call the vet"),
        "media": t.of("Pictures"),
        "write": t.of("Write down"),
        "write_why": t.of("The trainer sees this. It is kept as yours."),
        "outing": t.of("Toilet"),
        "outing_done": t.of("Outside, done"),
        "accident": t.of("Accident indoors"),
        "cue": t.of("A word"),
        "which": t.of("Which word"),
        "worked": t.of("how many worked?"),
        "it_worked": t.of("It worked"),
        "it_did_not": t.of("It did not"),
        "incident": t.of("Something we do not want"),
        "what": t.of("What happened"),
        "when": t.of("When"),
        "note": t.of("A few words, if you like"),
        "keep": t.of("Write it down"),
        "call": t.of("Please call us"),
        "week_ask": t.of("Try this now"),
        "week_how": t.of("Try each one three times, without practice before. Say how many worked."),
        "mine": t.of("What you wrote down"),
        "none": t.of("Nothing yet."),
        "take_back": t.of("Take back"),
        "problem": t.of("Not written down yet. Please look at this:"),
        "unsent": t.of("Not sent yet. It is kept on this phone."),
        "again": t.of("Send again"),
        "refused": t.of("This could not be written down:"),
        "forget": t.of("Throw it away"),
        "later": t.of("Leave it empty if it was just now."),
    }
