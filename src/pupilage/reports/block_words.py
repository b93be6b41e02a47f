"""A timetable's blocks in words, for a page, a calendar, a sheet and the command line alike."""

from datetime import timedelta

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from pupilage.core.catalogue.behaviour import Catalogue, Place
from pupilage.core.planning.day.blocks import Block, BlockKind, BlockState
from pupilage.core.planning.planned_session import PlannedSession, Purpose
from pupilage.reports.formatting import show_grams

KIND_WORDS = {
    BlockKind.OUTING: _("Outing"),
    BlockKind.MEAL: _("Meal"),
    BlockKind.SESSION: _("Session"),
    BlockKind.PLAY: _("Play"),
    BlockKind.CHEW: _("Chew"),
    BlockKind.NAP: _("Nap"),
    BlockKind.EXPOSURE: _("Something to meet"),
    BlockKind.RESIDENT: _("Time for the other dog"),
    BlockKind.APPOINTMENT: _("You are busy"),
    BlockKind.NIGHT: _("Night"),
}
STATE_WORDS = {
    BlockState.PLANNED: _("planned"),
    BlockState.DONE: _("done"),
    BlockState.SKIPPED: _("skipped"),
}
PURPOSE_WORDS = {
    Purpose.TEACH: "",
    Purpose.UPKEEP: _("upkeep"),
    Purpose.ELSEWHERE: _("somewhere new"),
    Purpose.PROBE: _("cold first try, measured only"),
}
PLACE_WORDS = {
    Place.QUIET_ROOM: _("in a quiet room"),
    Place.HOME: _("at home, the household going about"),
    Place.GARDEN: _("in the garden"),
    Place.QUIET_STREET: _("in a quiet street"),
    Place.BUSY_PLACE: _("in a busy place"),
    Place.NEW_PLACE: _("in a place new to the pup"),
}


def block_title(block: Block, catalogue: Catalogue) -> str:
    """Return what a block is called, such as “Outing” or a behaviour's name."""
    if block.session is not None:
        behaviour = catalogue.find_behaviour(block.session.behaviour)
        return behaviour.name if behaviour else block.session.behaviour
    if block.kind in (BlockKind.APPOINTMENT, BlockKind.EXPOSURE) and block.words:
        return block.words
    return str(KIND_WORDS[block.kind])


def block_notes(block: Block, catalogue: Catalogue) -> list[str]:
    """Return what else there is to know to do it: the step and its setting, or the grams. Each a few words."""
    if block.session is not None:
        return _session_notes(block.session, catalogue)
    notes = []
    if block.bowl_g is not None:
        notes.append(gettext("{grams} in the bowl").format(grams=show_grams(block.bowl_g)))
    if block.pouch_g:
        notes.append(gettext("{grams} in the pouch").format(grams=show_grams(block.pouch_g)))
    if block.words and block.words != block_title(block, catalogue):
        notes.append(block.words)
    if block.kind in (BlockKind.NAP, BlockKind.NIGHT):
        notes.append(gettext("in the crate"))
    return notes


def _session_notes(session: PlannedSession, catalogue: Catalogue) -> list[str]:
    behaviour = catalogue.find_behaviour(session.behaviour)
    step = behaviour.step(session.step) if behaviour else None
    notes = [step.summary.rstrip(".") if step else session.step, gettext("{n} min").format(n=session.minutes)]
    notes.append(str(PLACE_WORDS[session.place]))
    if session.distraction:
        notes.append(gettext("distraction {n} of 5").format(n=session.distraction))
    if session.purpose is not Purpose.TEACH:
        notes.append(str(PURPOSE_WORDS[session.purpose]))
    if session.who:
        notes.append(gettext("cued by {name}").format(name=session.who))
    if session.reinforcer:
        pieces = gettext("{n} pieces of {name}") if session.pieces else gettext("{name}")
        notes.append(pieces.format(n=session.pieces, name=session.reinforcer))
    return notes


def minutes_of(block: Block) -> int:
    """Return the length of a block in minutes."""
    return round((block.end - block.start) / timedelta(minutes=1))
