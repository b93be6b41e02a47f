"""The hand sign that goes with a cue, where there is one. Common practice, no source."""

from collections.abc import Mapping

from pupilage.core.words import Sentence, sentence

HAND_SIGNS: Mapping[str, Sentence] = {
    "sit": sentence("Flat hand moves up"),
    "down": sentence("Flat hand moves to the floor"),
    "stand": sentence("Flat palm moves away from its nose"),
    "stay": sentence("Flat palm towards it"),
    "hand-target": sentence("Open palm, held still"),
    "recall": sentence("Crouch, arms wide"),
    "go-to-mat": sentence("Point to the mat"),
    "settle-on-mat": sentence("Point to the mat"),
    "go-to-crate": sentence("Point into the crate"),
    "drop": sentence("Open hand below its chin"),
    "loose-lead": sentence("Hand at your trouser seam"),
    "wait-at-door": sentence("Flat palm at the sill"),
}
"""By the key of a behaviour. What has no word of ours in here is asked for by its cue alone."""
