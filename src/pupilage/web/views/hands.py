"""Keys, sounds, prompts and how the session screen looks: all kept on the device, so the server only shows the page."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext
from django.views.decorators.http import require_GET


@require_GET
def hands(request: HttpRequest) -> HttpResponse:
    """Show the page; its script fills it from the device."""
    actions = [
        ("met", gettext("Met; in a hold: start, then released")),
        ("missed", gettext("Missed; in a hold: broke")),
        ("helped", gettext("Helped")),
        ("cue", gettext("Cue said")),
        ("undo", gettext("Take back")),
        ("mat-hold", gettext("Second dog: lies down, then released")),
        ("mat-pay", gettext("Second dog: pay")),
    ]
    switches = [
        ("sounds", gettext("Tones for decisions and timers")),
        ("vibrate", gettext("Vibration for the same, where the device has it")),
        ("speech", gettext("Spoken prompts, by the device’s own voice")),
        (
            "dictate",
            gettext("Dictated notes, where the browser can. Some browsers send the sound to their maker: ask first."),
        ),
        ("awake", gettext("Keep the screen awake during a session")),
        ("large", gettext("Large type")),
        ("left", gettext("Left-handed: the chief button on the left")),
    ]
    words = {
        "press": gettext("Press a key …"),
        "add": gettext("Add a key"),
        "none": gettext("no key"),
        "taken": gettext("That key stood for something else; it is here now."),
        "kept": gettext("Kept on this device."),
        "not_kept": gettext("This browser keeps nothing here, perhaps because the window is private."),
        "sample": gettext("Ask for 7 seconds"),
    }
    return render(request, "pupilage/hands.html", {"actions": actions, "switches": switches, "page_words": words})
