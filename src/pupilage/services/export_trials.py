"""The tries of a stay as a sheet for a spreadsheet."""

from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.training.rewards.reinforcers import reinforcers_of
from pupilage.reports.trial_sheet import write_trial_sheet
from pupilage.storage.queries.programmes import programme_readable_by
from pupilage.storage.queries.sessions import list_pouches, list_session_spans, list_trials


def export_trials(actor: Actor, programme_id: UUID) -> str:
    """Return every try that stands, as CSV that `import_trials` reads. Who may: whoever may read. Raises NotFound."""
    programme = programme_readable_by(actor, programme_id)
    trials = list_trials(programme)
    reinforcers = reinforcers_of(trials, list_pouches(programme))
    return write_trial_sheet(trials, list_session_spans(programme), reinforcers, actor.zone)
