"""The care log in words: what each entry is called, and the taps that write one."""

from dataclasses import dataclass
from uuid import uuid4

from django.utils.translation import gettext_lazy as _

from pupilage.core.care.events import CareDetail, CareKind

KIND_WORDS = {
    CareKind.OUTING: _("Outside"),
    CareKind.INDOORS: _("Indoors"),
    CareKind.MEAL: _("Meal"),
    CareKind.DRINK: _("Drink"),
    CareKind.NAP: _("Nap"),
    CareKind.CRATE: _("Crate"),
    CareKind.PLAY: _("Play"),
    CareKind.CHEW: _("Chew"),
    CareKind.UNWATCHED: _("Loose and unwatched"),
    CareKind.IN_REACH: _("Food or things in reach"),
    CareKind.VISITOR: _("Visitor"),
    CareKind.RESIDENT: _("With the resident dog"),
    CareKind.BUSY: _("You are busy"),
}
DETAIL_WORDS = {
    CareDetail.WEE: _("wee"),
    CareDetail.POO: _("poo"),
    CareDetail.BOTH: _("wee and poo"),
    CareDetail.NOTHING: _("nothing"),
    CareDetail.START: _("begins"),
    CareDetail.END: _("ends"),
}


@dataclass(frozen=True)
class Tap:
    """A button that writes one entry: the value it sends, and its words."""

    value: str
    words: object


def _tap(kind: CareKind, detail: CareDetail, words: object) -> Tap:
    return Tap(f"{kind.value}:{detail.value}", words)


OUTING_ROWS = (
    (
        _("Outside"),
        (
            _tap(CareKind.OUTING, CareDetail.WEE, _("wee")),
            _tap(CareKind.OUTING, CareDetail.POO, _("poo")),
            _tap(CareKind.OUTING, CareDetail.BOTH, _("both")),
            _tap(CareKind.OUTING, CareDetail.NOTHING, _("nothing")),
        ),
    ),
    (
        _("Indoors"),
        (
            _tap(CareKind.INDOORS, CareDetail.WEE, _("wee")),
            _tap(CareKind.INDOORS, CareDetail.POO, _("poo")),
        ),
    ),
)
OTHER_ROWS = (
    (
        _("Nap"),
        (
            _tap(CareKind.NAP, CareDetail.START, _("asleep")),
            _tap(CareKind.NAP, CareDetail.END, _("awake")),
        ),
    ),
    (
        _("Crate"),
        (
            _tap(CareKind.CRATE, CareDetail.START, _("in")),
            _tap(CareKind.CRATE, CareDetail.END, _("out")),
        ),
    ),
    (
        _("Also"),
        (
            _tap(CareKind.DRINK, CareDetail.PLAIN, _("drink")),
            _tap(CareKind.PLAY, CareDetail.PLAIN, _("play")),
            _tap(CareKind.CHEW, CareDetail.PLAIN, _("chew")),
        ),
    ),
)


def kind_words(kind: CareKind) -> str:
    """Return what a kind of entry is called."""
    return str(KIND_WORDS.get(kind, kind.value))


def entry_words(kind: CareKind, detail: CareDetail) -> str:
    """Return what an entry of the care log says, such as “Outside: wee”."""
    if detail is CareDetail.PLAIN:
        return kind_words(kind)
    return f"{kind_words(kind)}: {DETAIL_WORDS[detail]}"


def read_tap(value: str) -> tuple[CareKind, CareDetail]:
    """Return the kind and detail that a button sends; the form has refused any other value."""
    kind, _colon, detail = value.partition(":")
    return CareKind(kind), CareDetail(detail)


def tap_rows() -> dict[str, object]:
    """Return the rows of buttons for the templates, with an id for what this showing of the page writes."""
    return {"outing_rows": OUTING_ROWS, "other_rows": OTHER_ROWS, "nonce": uuid4()}
