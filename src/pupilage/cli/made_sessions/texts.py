"""What is said: cues, markers, and the ordinary talk of people who train dogs. Invented for this benchmark."""

CUES = ("sit", "down", "stay", "come", "heel", "leave it", "wait", "touch")
MARKER, PRAISE, RELEASE, NAME = "yes", "good", "free", "Biscuit"
TARGETS = (*CUES, MARKER, PRAISE, RELEASE)

TALK = (
    "Okay, now ask for a sit, and then walk around her once.",
    "When she looks away, just stay where you are and breathe.",
    "He was up at six this morning and ate the whole bowl.",
    "I would wait until the van has gone past the gate.",
    "If he goes down by himself, that is fine as well.",
    "We will come back to that after a short break.",
    "The lead should hang loose between the two of you.",
    "Tomorrow we can try the same thing in the front garden.",
    "Put three or four small pieces into your left hand.",
    "That was good, and the next one can be a little longer.",
    "Can you see how her ears move before she turns?",
    "Let us leave it there for today and give him some water.",
    "The neighbours have a free afternoon on Thursday.",
    "It rained all night, so the grass is still quite wet.",
    "Try to keep your hands still until you have said the word.",
    "She is much calmer here than she was on the first day.",
)
ENROLMENT_TALK = (
    "This is how I usually talk while we are working together in the garden.",
    "I explain what we are doing, and what I would like you to do next.",
    "Please remember to bring the long lead and a few soft treats on Friday.",
    "Most puppies get tired after a couple of minutes, so we stop early.",
    "There is a bench under the tree where we can have a cup of tea.",
    "My sister drove over with the other dog, and they played for an hour.",
    "Hold the bowl a bit higher, and put it on the floor slowly.",
    "What do you think about the noise from the road this morning?",
)
POOL_TALK = (
    "The baker opens at seven, but the best bread is gone by half past eight.",
    "Turn right behind the station and follow the river for about a mile.",
    "Grandmother keeps the buttons in a tin box next to the sewing machine.",
    "Every second Tuesday the library shows an old film for children.",
    "Seven boats were tied up in the harbour, and only one of them was painted.",
    "He asked whether the meeting could be moved to a later hour.",
    "Cut the onions finely and let them turn golden before you add the rice.",
    "A cold wind blew over the fields, and the first leaves began to fall.",
    "Nobody knew who had written the letter that lay on the kitchen table.",
    "The teacher drew a large triangle and wrote three numbers beside it.",
)
POOL_WORDS = (
    "sick", "set", "seat", "town", "brown", "gown", "state", "day", "gum", "calm", "hill", "wheel", "feel", "weighed",
    "late", "wade", "tough", "such", "yet", "guess", "less", "food", "could", "wood", "three", "fleas", "tea", "said",
    "then", "what", "some", "eight", "cat", "wet", "leaf", "live in", "risk it", "misty",
)  # fmt: skip
"""Near to cues, and none of them: a word that people do say to dogs must not be taught as none."""
