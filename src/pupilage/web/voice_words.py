"""What the pages of voices call things."""

from django.utils.translation import gettext


def role_words() -> dict[str, str]:
    """Return what each role of a word is called."""
    return {
        "cue": gettext("cue"),
        "marker": gettext("marker"),
        "release": gettext("release"),
        "praise": gettext("praise"),
        "name": gettext("the pup's name"),
        "reward": gettext("word that goes with food"),
        "ignore": gettext("only not to be mistaken"),
        "click": gettext("clicker"),
        "whistle": gettext("whistle"),
        "talk": gettext("plain talk"),
        "background": gettext("usual background"),
    }


def teach_words() -> dict[str, str]:
    """Return every text that the scripts of teaching may have to show."""
    return {
        "choose": gettext("Choose a word first."),
        "cutting": gettext("Cutting …"),
        "cut": gettext("Example {n} of “{word}”: {from} to {to} s."),
        "cut_own": gettext("Example {n} of “{word}”: {length} s of your sound."),
        "removed": gettext("Taken back."),
        "nothing_to_undo": gettext("Nothing to take back on this page."),
        "begun": gettext("The stretch begins at {at} s; tap again at its end."),
        "stretch": gettext("Taken: {from} to {to} s."),
        "trouble": gettext("No answer from this machine ({reason}); tap once more."),
        "signed_out": gettext("You are signed out; sign in in another tab, and tap once more."),
        "no_play": gettext("The browser cannot play this file: {reason}"),
        "recording": gettext("Speak now …"),
        "record": gettext("Record one example"),
        "stop": gettext("Stop"),
        "refused": gettext(
            "The microphone was refused. Allow it for this page in the browser's settings, or teach from a recording: "
            "choose one under “Recordings” on this page."
        ),
        "insecure": gettext(
            "A browser gives the microphone only to pages of this machine (localhost) or over https. Teach from a "
            "recording instead: choose one under “Recordings” on this page."
        ),
        "absent": gettext(
            "No microphone is found here. Teach from a recording instead: choose one under “Recordings” on this page."
        ),
        "unable": gettext("This browser cannot record. Choose a file, or teach from a recording."),
    }
