"""Time alone in words: signs, places, what the pup had, how it was watched."""

from django.utils.translation import gettext_lazy as _

from pupilage.core.incidents.absences import Had, Spot, State, Watched
from pupilage.core.incidents.alone import Sign

SIGN_WORDS = {
    Sign.WHINING: _("whines"),
    Sign.BARKING: _("barks"),
    Sign.HOWLING: _("howls"),
    Sign.PACING: _("paces"),
    Sign.SCRATCHING: _("scratches at the exit"),
    Sign.PANTING: _("pants"),
    Sign.TOILET: _("wees or poos"),
    Sign.DAMAGE: _("destroys things"),
    Sign.NOT_EATING: _("leaves its food"),
    Sign.DROOLING: _("drools"),
    Sign.ESCAPE: _("throws itself at the exit"),
    Sign.INJURY: _("hurt itself"),
    Sign.PANIC: _("is beside itself"),
}
COMMON = (Sign.WHINING, Sign.BARKING, Sign.HOWLING, Sign.PACING, Sign.SCRATCHING, Sign.TOILET)
"""The signs that stand within reach of the thumb; the others come under one more tap."""

SPOT_WORDS = {
    Spot.CRATE: _("crate"),
    Spot.PEN: _("pen"),
    Spot.ROOM: _("room"),
    Spot.CAR: _("car"),
    Spot.ELSEWHERE: _("elsewhere"),
}
HAD_WORDS = {Had.CHEW: _("chew"), Had.FOOD_TOY: _("food toy"), Had.TOY: _("toy"), Had.RADIO: _("radio")}
STATE_WORDS = {
    State.WOKE: _("just woke"),
    State.BEEN_OUT: _("just been out"),
    State.ATE: _("just ate"),
    State.PLAYED: _("just played"),
    State.DROWSY: _("drowsy"),
}
WATCHED_WORDS = {
    Watched.CAMERA: _("camera"),
    Watched.LISTENING: _("listening"),
    Watched.RECORDING: _("sound recording"),
    Watched.NOT: _("not watched"),
}


def sign_words(sign: Sign) -> str:
    """Return a sign in words."""
    return str(SIGN_WORDS[sign])
