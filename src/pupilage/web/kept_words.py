"""The words that the scripts of the coding page and the timer show; they have none of their own."""

from django.utils.translation import gettext


def kept_words() -> dict[str, str]:
    """Return what every page says whose taps are kept on the device until they are stored."""
    return {
        "unsent": gettext("{n} not sent yet; kept on this device"),
        "all_sent": gettext("All saved"),
        "offline": gettext("Pupilage does not answer. Go on: every tap is kept on this device."),
        "sign_in_again": gettext("Signed out. Every tap is kept on this device; sign in again to send them."),
        "other_owner": gettext("Taps of another account are kept on this device; sign in with that account."),
        "refused": gettext("Refused: {reason}"),
        "not_stored": gettext("This tap could not be stored on the device: {reason}. Free some space and tap again."),
    }


def coding_words() -> dict[str, str]:
    """Return every text that the coding page's script may have to show."""
    return kept_words() | {
        "met": gettext("Met"),
        "missed": gettext("Missed"),
        "helped": gettext("Helped"),
        "void": gettext("Void"),
        "who": gettext("Say who codes first."),
        "pause": gettext("Pause the clock"),
        "go_on": gettext("Go on"),
        "count": gettext("Marked: {n}"),
        "last": gettext("last: {word} at {at}"),
    }


def timer_words() -> dict[str, str]:
    """Return every text that the timer's script may have to show."""
    return kept_words() | {
        "mean": gettext("Now {interval}; on average {mean}"),
        "tally": gettext("Paid {paid}, broken off {came}"),
        "in_a_row": gettext("{n} in a row"),
        "begin": gettext("Begin"),
        "again": gettext("It does it again"),
        "pay_now": gettext("Pay now"),
        "since": gettext("for {n} already"),
        "end": gettext("End"),
        "end_sure": gettext("Tap again to end"),
    }
