"""Importing a spreadsheet's trials: all of it or nothing, once, and worth the same as tapping them."""

from datetime import UTC, date, datetime, timedelta
from uuid import UUID, uuid4

import pytest

from pupilage.core.errors import Forbidden, InvalidInput, NotFound
from pupilage.core.sheets.cells import DateOrder
from pupilage.core.training.criterion.decision import decide
from pupilage.core.training.posterior.belief import believe
from pupilage.core.training.posterior.knowledge import know
from pupilage.core.training.record.evidence import Outcome, TrialSource
from pupilage.services.import_trials import Imported, ImportOptions, import_trials
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import AuditEntry, SessionEvent, TrainingSession
from pupilage.storage.models import Trial as TrialRow
from pupilage.storage.queries.programmes import programme_readable_by
from pupilage.storage.queries.sessions import list_trials

HEADER = "date,time,behaviour,step,outcome,latency,held_s,target_s,pieces,reinforcer,kind,session"
OUTCOMES = ["met", "met", "missed", "met", "helped", "met", "met", "void", "met", "missed", "met", "met"]


def sheet(*rows: str, header: str = HEADER) -> bytes:
    return "\n".join((header, *rows)).encode()


def tapped_alike(outcomes: list[str], *, day: str = "2026-05-12", minute: int = 0) -> list[str]:
    return [f"{day},8:{minute + n // 6:02d}:{n % 6 * 10:02d},sit,word,{outcome}" for n, outcome in enumerate(outcomes)]


@pytest.fixture
def bring_in(actor, programme, now):
    def bring(content: bytes, **options) -> Imported:
        return import_trials(actor, programme, content, ImportOptions(**options), now=now)

    return bring


def test_imported_trials_give_the_same_posterior_and_decision_as_tapped_ones(
    actor, programme, new_session, bring_in, new_programme, now
):
    other = new_programme(actor)
    new_session(actor, other, "sit", "word", OUTCOMES, at=now - timedelta(hours=1))
    imported = bring_in(sheet(*tapped_alike(OUTCOMES)))
    assert imported.n_added == len(OUTCOMES)

    behaviour = load_catalogue().behaviours["sit"]
    by_hand = list_trials(programme_readable_by(actor, other))
    by_sheet = list_trials(programme_readable_by(actor, programme))
    assert [t.outcome for t in by_sheet] == [t.outcome for t in by_hand]
    assert {t.source for t in by_sheet} == {TrialSource.IMPORTED}
    assert believe(by_sheet) == believe(by_hand)
    tapped, imported = (know({"sit": behaviour}, trials) for trials in (by_hand, by_sheet))
    assert decide(behaviour, "word", imported, session_id=None, now=now) == decide(
        behaviour, "word", tapped, session_id=None, now=now
    )


def test_importing_twice_adds_nothing(bring_in):
    content = sheet(*tapped_alike(OUTCOMES), "2026-05-04,,stay,five-seconds,,,6,5")
    first, second = bring_in(content), bring_in(content)
    assert (first.n_added, first.n_known, first.n_sessions) == (13, 0, 2)
    assert (second.n_added, second.n_known, second.n_sessions) == (0, 13, 0)
    assert TrialRow.objects.count() == 13
    assert TrainingSession.objects.count() == 2


def test_the_same_rows_in_another_file_add_nothing(bring_in):
    rows = tapped_alike(OUTCOMES)
    bring_in(sheet(*rows))
    other = "\ufeff" + "\n".join((HEADER, "", *rows)).replace(",", ";").replace("2026-05-12", "12.05.2026")
    again = bring_in(other.encode())
    assert (again.n_added, again.n_known, again.separator) == (0, 12, "semicolon")


def test_rows_added_to_the_sheet_later_are_new_and_the_old_ones_stay(bring_in):
    rows = tapped_alike(["met", "met"])
    bring_in(sheet(*rows))
    before = set(TrialRow.objects.values_list("event_id", "session_id", "at"))
    later = bring_in(sheet("2026-05-03,9:00,sit,lure,x", rows[0], rows[0], rows[1]))
    assert (later.n_added, later.n_known) == (2, 2)
    assert before <= set(TrialRow.objects.values_list("event_id", "session_id", "at"))


def test_a_trial_that_was_taken_back_does_not_come_back(actor, bring_in, now):
    from pupilage.core.training.record.events import Event, EventKind
    from pupilage.services.record_events import record_events

    content = sheet(*tapped_alike(["met", "missed"]))
    bring_in(content)
    trial = TrialRow.objects.get(outcome="missed")
    back = Event(
        str(uuid4()),
        str(uuid4()),
        1,
        str(trial.session_id),
        EventKind.WITHDRAWN,
        now,
        0,
        {"event": str(trial.event_id)},
    )
    record_events(actor, [back], now=now)
    assert bring_in(content).n_added == 0
    assert list(TrialRow.objects.values_list("outcome", flat=True)) == ["met"]


def test_one_bad_row_keeps_the_whole_file_out_and_every_bad_row_is_named(bring_in):
    content = sheet("2026-05-04,9:00,sit,word,met", "2026-05-04,9:00,fly,word,met", "2026-05-04,9:00,sit,word,perhaps")
    with pytest.raises(InvalidInput) as refused:
        bring_in(content)
    said = str(refused.value)
    assert "2 of 3 rows cannot be read" in said
    assert "row 3, behaviour" in said
    assert "row 4, outcome" in said
    assert not SessionEvent.objects.exists()


def test_bad_rows_can_be_left_out(bring_in):
    imported = bring_in(sheet("2026-05-04,9:00,sit,word,met", "2026-05-04,9:00,fly,word,met"), skip_bad=True)
    assert imported.n_added == 1
    assert [bad.number for bad in imported.bad] == [3]


def test_a_refusal_in_the_middle_leaves_nothing_behind(bring_in, monkeypatch):
    from pupilage.services import import_trials as module

    real, calls = module.record_events, []

    def fail_the_second(*args, **kwargs):
        calls.append(1)
        if len(calls) == 2:
            raise InvalidInput.of("", "no")
        return real(*args, **kwargs)

    monkeypatch.setattr(module, "record_events", fail_the_second)
    with pytest.raises(InvalidInput):
        bring_in(sheet(*tapped_alike(["met"] * 300, minute=0)))
    assert not SessionEvent.objects.exists()
    assert not AuditEntry.objects.filter(action__in=["record-events", "import-trials"]).exists()


def test_a_long_sheet_goes_in_as_several_batches(bring_in):
    imported = bring_in(sheet(*tapped_alike(["met", "missed"] * 150, day="2026-05-11")))
    assert (imported.n_added, imported.n_sessions) == (300, 1)
    session = TrainingSession.objects.get()
    assert session.trials.count() == 300
    assert session.ended_at is not None
    assert session.source == "imported"


@pytest.mark.parametrize("codec", ["utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("sign", [";", "\t"])
def test_other_encodings_separators_and_decimal_commas_are_read(bring_in, codec, sign):
    header = sign.join(("Datum", "behaviour", "step", "outcome", "latency", "reinforcer"))
    row = sign.join(("04.05.2026", "sit", "word", "y", "1,25", "Hühnchen"))
    imported = bring_in(f"{header}\r\n{row}\r\n".encode(codec), columns={"date": "Datum"})
    assert imported.n_added == 1
    trial = TrialRow.objects.get()
    assert (trial.latency_s, trial.outcome) == (1.25, Outcome.MET)
    assert TrainingSession.objects.get().reinforcer == "Hühnchen"


def test_the_order_of_days_can_be_said(bring_in):
    content = sheet("5/6/2026,9:00,sit,word,met")
    with pytest.raises(InvalidInput, match="--date-order"):
        bring_in(content)
    bring_in(content, date_order=DateOrder.MONTH_FIRST)
    assert TrialRow.objects.get().at.date() == date(2026, 5, 6)


def test_an_unknown_step_names_those_that_exist(bring_in):
    with pytest.raises(
        InvalidInput, match=r"row 2, step: “somersault” is no step of “sit”; its steps are lure, gesture"
    ):
        bring_in(sheet("2026-05-04,9:00,sit,somersault,met"))


def test_a_probe_is_kept_apart(actor, programme, bring_in, now):
    bring_in(sheet(*[f"{row},,,,,,baseline" for row in tapped_alike(["met"] * 10)]))
    behaviour = load_catalogue().behaviours["sit"]
    trials = list_trials(programme_readable_by(actor, programme))
    assert decide(behaviour, "word", know({"sit": behaviour}, trials), session_id=None, now=now).reading.n == 0


@pytest.mark.parametrize(
    ("arrival", "row", "at", "note"),
    [
        ("2026-03-20", "2026-03-29,1:30", "2026-03-29T01:30:00+00:00", "never came"),
        ("2026-10-20", "2026-10-25,1:30", "2026-10-25T00:30:00+00:00", "came twice"),
        ("2026-10-20", "2026-10-25,9:00", "2026-10-25T09:00:00+00:00", ""),
        ("2026-10-20", "2026-10-24,9:00", "2026-10-24T08:00:00+00:00", ""),
    ],
)
def test_the_clock_changes_inside_a_programme_are_read_and_said(actor, intake, arrival, row, at, note):
    """Lisbon: forward on 29 March 2026 at 1:00, back on 25 October at 2:00. Source: IANA time zone database."""
    from dataclasses import replace

    from pupilage.services.start_programme import start_programme

    first = date.fromisoformat(arrival)
    now = datetime.combine(first + timedelta(days=10), datetime.min.time(), tzinfo=UTC)
    frame = replace(
        intake,
        pup=replace(intake.pup, born_on=first - timedelta(days=66)),
        arrival_on=first,
        handover_on=first + timedelta(days=21),
    )
    programme = start_programme(actor, frame, now=now)
    imported = import_trials(actor, programme, sheet(f"{row},sit,word,met"), ImportOptions(), now=now)
    assert TrialRow.objects.get().at == datetime.fromisoformat(at)
    assert [number for number, _ in imported.notes] == ([2] if note else [])
    assert note in "".join(str(said) for _, said in imported.notes)


def test_a_stranger_finds_no_such_programme(stranger, programme, now):
    with pytest.raises(NotFound):
        import_trials(stranger, programme, sheet(*tapped_alike(["met"])), ImportOptions(), now=now)


def test_a_reader_may_not_import(reader, programme, now):
    with pytest.raises(Forbidden):
        import_trials(reader, programme, sheet(*tapped_alike(["met"])), ImportOptions(), now=now)


def test_an_unknown_programme_is_not_found(actor, now):
    with pytest.raises(NotFound):
        import_trials(actor, UUID(int=1), sheet(), ImportOptions(), now=now)


def test_one_audit_row_says_what_was_imported(bring_in):
    bring_in(sheet(*tapped_alike(["met", "met"])))
    entry = AuditEntry.objects.get(action="import-trials")
    assert entry.detail == {"trials": 2, "sessions": 1}
