"""Incidents from a sheet: all that is wrong at once, nothing half, nothing twice, and out as they came in."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest

from pupilage.core.errors import Forbidden, InvalidInput, NotFound
from pupilage.core.incidents.gains import Gain
from pupilage.core.incidents.record import Before
from pupilage.core.incidents.teeth import Teeth
from pupilage.reports.incident_sheet import write_incident_sheet
from pupilage.services.import_incidents import import_incidents
from pupilage.services.log_incident import IncidentEntry, log_incident, take_incident_back
from pupilage.services.read_incidents import read_incidents
from pupilage.storage.models import AuditEntry, Incident
from pupilage.storage.queries.dogs import dog_readable_by
from pupilage.storage.queries.incidents import list_incidents

HEADER = "at,behaviour,before,gained,left_it,note"


def sheet(*rows, header=HEADER):
    return "\n".join((header, *rows)).encode()


@pytest.fixture
def bring_in(actor, dog, now):
    return lambda content: import_incidents(actor, dog, content, now=now)


def refused(bring_in, content):
    with pytest.raises(InvalidInput) as error:
        bring_in(content)
    assert not Incident.objects.exists()
    assert not AuditEntry.objects.filter(action="import-incidents").exists()
    return [str(problem) for problem in error.value.problems]


def test_rows_are_stored_with_one_audit_row(bring_in):
    done = bring_in(
        sheet("2026-05-10 08:15,counter-stealing,unwatched in-reach,thing,,", "2026-05-11 9:00,digging,,,yes,")
    )
    assert (done.n_rows, done.n_added, done.n_known) == (2, 2, 0)
    first, second = Incident.objects.order_by("at")
    assert (first.before, first.gained, first.supervised) == (["unwatched", "in-reach"], "thing", True)
    assert first.at == datetime(2026, 5, 10, 7, 15, tzinfo=UTC)  # Lisbon's summer time
    assert second.left_it
    assert AuditEntry.objects.get(action="import-incidents").detail == {"incidents": 2}


def test_importing_twice_stores_once_whatever_the_order(bring_in):
    rows = ["2026-05-10 08:15,counter-stealing,bell unwatched,thing,,", "2026-05-11 9:00,digging,,,yes,"]
    bring_in(sheet(*rows))
    again = bring_in(sheet(*reversed(rows)))
    assert (again.n_added, again.n_known) == (0, 2)
    assert Incident.objects.count() == 2


def test_same_content_twice_in_a_sheet_is_one_incident(bring_in):
    done = bring_in(sheet(*["2026-05-10 08:15,digging,,,,"] * 3))
    assert (done.n_added, done.n_known) == (1, 2)


def test_same_content_as_one_tapped_before_is_not_stored_again(actor, dog, now, bring_in):
    log_incident(actor, dog, IncidentEntry("digging", datetime(2026, 5, 10, 7, 15, tzinfo=UTC)), now=now)
    assert bring_in(sheet("2026-05-10 08:15,digging,,,,")).n_added == 0


def test_what_was_taken_back_stays_taken_back(actor, dog, now, bring_in):
    bring_in(sheet("2026-05-10 08:15,digging,,,,"))
    take_incident_back(actor, Incident.objects.get().id, now=now)
    assert bring_in(sheet("2026-05-10 08:15,digging,,,,")).n_known == 1
    assert list_incidents(dog_readable_by(actor, dog)) == []


def full_entry(now):
    return IncidentEntry(
        "mouthing-hands",
        now - timedelta(hours=3, microseconds=5),
        place="hall, by the door",
        antecedent='She said "sit";\nhe did not',
        consequence="ran off",
        people_did="shouted",
        supervised=False,
        note="naïve – 3 µm",
        before=(Before.WOKE, Before.CHILD),
        gained=Gain.PLAY,
        slip=True,
        teeth=Teeth.MARK,
    )


def test_export_then_import_is_the_identity(actor, stranger, new_programme, dog, now):
    log_incident(actor, dog, full_entry(now), now=now)
    log_incident(actor, dog, IncidentEntry("mouthing-hands", now - timedelta(hours=1), left_it=True), now=now)
    written = read_incidents(actor, dog, behaviour="mouthing-hands", now=now).incidents
    text = write_incident_sheet(written)
    assert import_incidents(actor, dog, text.encode(), now=now).n_known == 2

    from pupilage.storage.queries.programmes import programme_readable_by

    other = programme_readable_by(stranger, new_programme(stranger)).dog_id
    assert import_incidents(stranger, other, text.encode(), now=now).n_added == 2
    assert import_incidents(stranger, other, text.encode(), now=now).n_known == 2
    read = read_incidents(stranger, other, behaviour="mouthing-hands", now=now).incidents
    plain = [{**vars(one), "id": ""} for one in written]
    assert [{**vars(one), "id": ""} for one in read] == plain
    assert {one.id for one in read}.isdisjoint(one.id for one in written)


def test_all_problems_are_said_at_once_with_their_rows(bring_in):
    said = refused(
        bring_in,
        sheet(
            "2026-05-10 08:15,digging,,,,",
            "2026-05-10 08:15,flying,the-moon bell,fame,maybe,",
            "2026-05-13 08:15,digging,,,,",
            "2020-05-10 08:15,digging,,,,",
            "yesterday,digging,,,,",
            "2026-05-10 08:15,digging,,,,a,b",
        ),
    )
    assert said[0].startswith("Nothing was imported: 5 of 6 rows")
    assert [line.split(":")[0] for line in said[1:]] == [
        "row 3, behaviour", "row 3, before", "row 3, gained", "row 3, left_it", "row 4, at", "row 5, at", "row 6, at",
        "row 7",
    ]  # fmt: skip
    text = "\n".join(said)
    assert "“the-moon” is no antecedent that is known; they are woke, released, ate," in text
    assert "in the future" in text
    assert "before the pup came on 2026-05-02" in text


def test_unknown_doubled_and_missing_columns_are_said_at_once(bring_in):
    said = refused(bring_in, sheet("a,b,c", header="behaviour,behaviour,mood"))
    assert len(said) == 3
    assert "“mood” is no column of incidents; the columns are id, at, behaviour" in said[0]
    assert "The column “at” is missing" in said[2]


@pytest.mark.parametrize("content", [b"", b"\x81\x8d,\xff", b"at\0,behaviour", b'at,behaviour\n"2026'])
def test_files_that_hold_no_sheet_are_refused(bring_in, content):
    assert refused(bring_in, content)


def test_sheet_without_a_row_adds_nothing(bring_in):
    assert bring_in(b"at,behaviour\n").n_rows == 0


def test_other_encodings_and_separators_are_read(bring_in):
    text = "at;behaviour;note\r\n2026-05-10 08:15;digging;café\r\n"
    for content in (text.encode("cp1252"), text.encode("utf-8-sig"), text.encode("utf-16")):
        bring_in(content)
    assert [row.note for row in Incident.objects.all()] == ["café"]


def test_time_with_an_offset_is_that_instant(bring_in):
    bring_in(sheet("2026-05-10T08:15:00+05:00,digging,,,,"))
    assert Incident.objects.get().at == datetime(2026, 5, 10, 3, 15, tzinfo=UTC)


def test_day_that_may_be_read_two_ways_is_not_guessed(bring_in):
    said = refused(bring_in, sheet("4/5/2026 8:15,digging,,,,"))
    assert "may be day or month first" in said[1]
    assert bring_in(sheet("4.5.2026 8:15,digging,,,,", "5/5/2026 8:15,digging,,,,")).n_added == 2


def test_id_of_another_content_is_refused_and_the_stored_one_stays(actor, dog, now, bring_in):
    stored = log_incident(actor, dog, IncidentEntry("digging", now - timedelta(hours=1)), now=now)
    with pytest.raises(InvalidInput, match="row 2, id: This id is stored with another content"):
        bring_in(sheet(f"{stored},2026-05-10 08:15,digging", header="id,at,behaviour"))
    assert Incident.objects.get().at == now - timedelta(hours=1)


def test_new_id_of_a_sheet_is_kept_and_one_that_is_none_refused(bring_in):
    refused(bring_in, sheet("17,2026-05-10 08:15,digging", header="id,at,behaviour"))
    given = uuid4()
    bring_in(sheet(f"{given},2026-05-10 08:15,digging", header="id,at,behaviour"))
    assert Incident.objects.get().id == given


def test_only_who_may_write_brings_in(reader, stranger, dog, now):
    for someone, error in ((reader, Forbidden), (stranger, NotFound)):
        with pytest.raises(error):
            import_incidents(someone, dog, sheet(), now=now)
