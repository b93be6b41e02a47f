"""What a family's page is made of: its parts, each of which the trainer may leave out, and its pictures."""

from enum import StrEnum


class Part(StrEnum):
    """A part of the family's page. Stored values are fixed for good."""

    TODAY = "today"
    NUMBERS = "numbers"
    NEXT = "next"
    HOME = "home"
    OUTINGS = "outings"
    FOOD = "food"
    SAFETY = "safety"
    MEDIA = "media"


class MediaKind(StrEnum):
    """What can be shown; each is served as one type of content and no other."""

    PICTURE = "picture"
    CLIP = "clip"

    @property
    def content_type(self) -> str:
        return {MediaKind.PICTURE: "image/jpeg", MediaKind.CLIP: "video/mp4"}[self]
