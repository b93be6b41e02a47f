"""The words that the session screen's script shows; it has none of its own."""

from django.utils.translation import gettext


def live_words() -> dict[str, str]:
    """Return every text that the script may have to show."""
    return _of_a_session() | _of_a_mat() | _of_the_list() | _of_what_is_kept()


def _of_a_session() -> dict[str, str]:
    return {
        "met": gettext("Met"),
        "missed": gettext("Missed"),
        "helped": gettext("Helped"),
        "void": gettext("Void"),
        "released": gettext("Released"),
        "broke": gettext("Broke"),
        "tries": gettext("{met} of {n} met"),
        "no_tries": gettext("No tries yet"),
        "per_min": gettext("Rewards a minute: {n}"),
        "pieces": gettext("Pieces left: {n}"),
        "pouch_empty": gettext("The pouch is empty"),
        "end": gettext("End session"),
        "end_sure": gettext("Tap again to end"),
        "start_hold": gettext("Start: hold for {target}"),
        "asked": gettext("asked: {target}"),
        "moment": gettext("a moment ({n} s)"),
        "go_to_step": gettext("Go to: {step}"),
        "by_five": gettext("By sets of five: {step}"),
        "pay_food": gettext("Next one right: reward"),
        "pay_praise": gettext("Next one right: praise only"),
        "pay_hold_food": gettext("At the release: reward"),
        "pay_hold_praise": gettext("At the release: praise only"),
        "by_counts": gettext("Reckoned on this phone from this run alone; Pupilage will say more when it answers."),
        "watch_end": gettext("One easy one, then end."),
        "watch_break": gettext("Take a break."),
        "watch_easier": gettext("Make it easier."),
        "watch_other-reinforcer": gettext("Another reinforcer."),
        "say_release": gettext("{dog}: time is up"),
        "latency": gettext("Cue to behaviour: {n} s"),
        "number_of_try": gettext("Try {n}: {word}"),
    }


def _of_a_mat() -> dict[str, str]:
    return {
        "on_its_mat": gettext("{dog} on its mat"),
        "mat_start": gettext("Lies down: ask for {target}"),
        "pay_now": gettext("Pay now"),
        "pay_in": gettext("Pay in {n} s"),
        "say_pay": gettext("Pay {dog}"),
        "add_second": gettext("{dog} on its mat beside"),
        "ask_second": gettext("What can {dog} already?"),
    }


def _of_the_list() -> dict[str, str]:
    return {
        "knows_nothing": gettext(
            "This device knows nothing of the day yet. Open Pupilage once where it answers; then this works without it."
        ),
        "known_today": gettext("What the phone knows is from {time} today."),
        "known_since": gettext("What the phone knows is from {day}, {time}."),
        "no_reinforcer": gettext("none, or a toy"),
        "go_on": gettext("Go on: {what}, {dog}"),
        "of_others": gettext("{n} of another account are kept too."),
        "set_aside": gettext("{n} were refused and are set aside; the file has them."),
    }


def _of_what_is_kept() -> dict[str, str]:
    return {
        "unsent": gettext("{n} not sent yet; kept on this device"),
        "all_sent": gettext("All saved"),
        "offline": gettext("Pupilage does not answer. Go on: every tap is kept on this device."),
        "sign_in_again": gettext("Signed out. Every tap is kept on this device; sign in again to send them."),
        "other_owner": gettext("Taps of another account are kept on this device; sign in with that account."),
        "refused": gettext("Refused: {reason}"),
        "not_stored": gettext("This tap could not be stored on the device: {reason}. Free some space and tap again."),
        "may_not_write": gettext("This account may read only. Every tap is kept on this device."),
        "no_store": gettext(
            "This browser keeps nothing on the device, perhaps because the window is private. "
            "Open Pupilage in an ordinary window before you train."
        ),
        "clock_behind": gettext(
            "This device's clock is {time} behind Pupilage's. Times are put right when sent; set the clock."
        ),
        "clock_ahead": gettext(
            "This device's clock is {time} ahead of Pupilage's. Times are put right when sent; set the clock."
        ),
        "minutes": gettext("{n} minutes"),
        "hours": gettext("{n} hours"),
    }
