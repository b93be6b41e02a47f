"""What the fixed answers of the log are called in a report: what was seen, in neutral words."""

from collections.abc import Mapping

from pupilage.core.incidents.absences import Had, Spot, State, Watched
from pupilage.core.incidents.alone import Sign
from pupilage.core.incidents.gains import Gain
from pupilage.core.incidents.record import Before
from pupilage.core.vet_report.facts import Part
from pupilage.core.words import Sentence, sentence

BEFORE: Mapping[Before, Sentence] = {
    Before.WOKE: sentence("had just woken"),
    Before.RELEASED: sentence("had just left the crate"),
    Before.ATE: sentence("had just eaten"),
    Before.PLAYED: sentence("had just played"),
    Before.TRAINED: sentence("had just trained"),
    Before.UNWATCHED: sentence("loose and unwatched"),
    Before.IN_REACH: sentence("food or things in reach"),
    Before.VISITOR: sentence("a visitor in the house"),
    Before.RESIDENT_NEAR: sentence("the resident dog near"),
    Before.BUSY: sentence("the person in charge was busy"),
    Before.BELL: sentence("the bell"),
    Before.NOISE: sentence("a noise"),
    Before.CHILD: sentence("a child"),
    Before.STRANGE_DOG: sentence("a strange dog"),
}
GAIN: Mapping[Gain, Sentence] = {
    Gain.ATTENTION: sentence("attention"),
    Gain.THING: sentence("food or a thing"),
    Gain.ESCAPE: sentence("something stopped, or it got away"),
    Gain.PLAY: sentence("a game or a chase"),
    Gain.RELIEF: sentence("relief: toilet, chewing itself"),
}
SIGN: Mapping[Sign, Sentence] = {
    Sign.WHINING: sentence("whines"),
    Sign.BARKING: sentence("barks"),
    Sign.HOWLING: sentence("howls"),
    Sign.PACING: sentence("paces"),
    Sign.SCRATCHING: sentence("scratches at the exit"),
    Sign.PANTING: sentence("pants"),
    Sign.TOILET: sentence("wees or poos"),
    Sign.DAMAGE: sentence("destroys things"),
    Sign.NOT_EATING: sentence("leaves its food"),
    Sign.DROOLING: sentence("drools"),
    Sign.ESCAPE: sentence("throws itself at the exit"),
    Sign.INJURY: sentence("hurt itself"),
    Sign.PANIC: sentence("throws itself about, does not settle"),
}
SPOT: Mapping[Spot, Sentence] = {
    Spot.CRATE: sentence("crate"),
    Spot.PEN: sentence("pen"),
    Spot.ROOM: sentence("room"),
    Spot.CAR: sentence("car"),
    Spot.ELSEWHERE: sentence("elsewhere"),
}
HAD: Mapping[Had, Sentence] = {
    Had.CHEW: sentence("chew"),
    Had.FOOD_TOY: sentence("food toy"),
    Had.TOY: sentence("toy"),
    Had.RADIO: sentence("radio"),
}
STATE: Mapping[State, Sentence] = {
    State.WOKE: sentence("just woke"),
    State.BEEN_OUT: sentence("just been out"),
    State.ATE: sentence("just ate"),
    State.PLAYED: sentence("just played"),
    State.DROWSY: sentence("drowsy"),
}
WATCHED: Mapping[Watched, Sentence] = {
    Watched.CAMERA: sentence("watched by camera"),
    Watched.LISTENING: sentence("listened to"),
    Watched.RECORDING: sentence("sound recorded"),
    Watched.NOT: sentence("not watched"),
}
PART: Mapping[Part, Sentence] = {
    Part.VET: sentence("veterinarian and signs"),
    Part.INCIDENTS: sentence("incidents"),
    Part.WEIGHT: sentence("weight and food"),
    Part.TOILET: sentence("toilet record"),
    Part.ALONE: sentence("time alone"),
    Part.EXPOSURES: sentence("what it met"),
    Part.ARRANGED: sentence("what was arranged"),
    Part.NOTES: sentence("free notes"),
    Part.PEOPLE: sentence("what people did, and who was there"),
}
