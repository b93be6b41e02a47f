"""Why our policy chose what it chose, in one sentence a trainer can judge and overrule."""

from dataclasses import dataclass
from enum import StrEnum

from pupilage.core.words import Sentence, sentence


class Why(StrEnum):
    """What a choice rests on. Stored values are fixed for good."""

    WORTH_MOST = "worth-most"
    GOES_ON = "goes-on"
    GENTLE = "gentle"
    UNSURE = "unsure"
    REST = "rest"


@dataclass(frozen=True)
class Choice:
    """One dog's choice: behaviour and step counted from 1 (0 for rest), gain in goals at hand-over."""

    behaviour: int
    step: int
    why: Why
    gain: float

    @property
    def reason(self) -> Sentence:
        """Return the reason in one sentence."""
        if self.why is Why.REST:
            return sentence(
                "No session would help today: every behaviour is either safe or too hard on a day like this."
            )
        if self.why is Why.GOES_ON:
            return sentence(
                "Behaviour {behaviour} goes on, at step {step}: after this set it is the step that helps most.",
                behaviour=self.behaviour,
                step=self.step,
            )
        if self.why is Why.GENTLE:
            return sentence(
                "Behaviour {behaviour} at step {step}: this dog learns unlike the others, so about two tries in three "
                "should succeed.",
                behaviour=self.behaviour,
                step=self.step,
            )
        if self.why is Why.UNSURE:
            return sentence(
                "Behaviour {behaviour} at step {step}: it is not clear yet how this dog learns, so no session is left "
                "out.",
                behaviour=self.behaviour,
                step=self.step,
            )
        return sentence(
            "Behaviour {behaviour} at step {step}: a session here adds most today, {gain} goals at hand-over.",
            behaviour=self.behaviour,
            step=self.step,
            gain=f"{self.gain:.3f}",
        )
