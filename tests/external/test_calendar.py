"""The calendar against RFC 5545 (Desruisseaux, 2009), its own text examples, and the icalendar library reading it back.

The RFC's examples are quoted from memory, with their sections.
"""

from datetime import UTC, datetime, timedelta

import icalendar
import pytest

from pupilage.reports.calendar import Entry, write_calendar

START = datetime(2026, 5, 12, 8, 25, tzinfo=UTC)


def entry(uid: str = "stay-2026-05-12-outing-1@pupilage", **more: object) -> Entry:
    plain = {
        "title": "Outing",
        "notes": (),
        "starts_at": START,
        "ends_at": START + timedelta(minutes=10),
        "sequence": 3,
        "changed_at": START - timedelta(hours=1),
    }
    return Entry(uid, **{**plain, **more})


def written(*entries: Entry) -> bytes:
    return write_calendar(entries, name="Tansy's day")


def unfolded(document: bytes) -> list[str]:
    """Section 3.1: unfolding takes out a CRLF that a space or a tab follows, with that character."""
    return document.replace(b"\r\n ", b"").replace(b"\r\n\t", b"").decode().split("\r\n")


LONG = [
    "This is a long description that exists on a long line.",  # section 3.1, its example of folding
    "x" * 200,
    "Zwölf Übungen über die Brücke, " * 6,  # two octets a letter: a fold must not part them
    "🐕" * 60,  # four octets
]


@pytest.mark.parametrize("words", LONG)
def test_lines_are_at_most_75_octets_and_unfold_to_what_was_written(words: str) -> None:
    """RFC 5545, section 3.1: lines of text SHOULD NOT be longer than 75 octets, excluding the line break."""
    document = written(entry(notes=(words,)))
    lines = document.split(b"\r\n")
    assert max(map(len, lines)) <= 75
    for line in lines:
        line.decode()  # no letter is parted by a fold
    escaped = words.replace(",", "\\,")
    assert f"DESCRIPTION:{escaped}" in unfolded(document)


def test_every_line_ends_with_crlf_and_none_with_less() -> None:
    """RFC 5545, section 3.1: content lines are delimited by a line break, which is a CRLF sequence."""
    document = written(entry(notes=("one", "two")))
    assert document.endswith(b"END:VCALENDAR\r\n")
    assert document.count(b"\n") == document.count(b"\r\n") == document.count(b"\r")


@pytest.mark.parametrize(
    ("notes", "line"),
    [
        (  # section 3.3.11, the example of an intentional line break
            ("Project XYZ Final Review", "Conference Room - 3B", "Come Prepared."),
            r"DESCRIPTION:Project XYZ Final Review\nConference Room - 3B\nCome Prepared.",
        ),
        (  # section 3.8.1.7, the example of a comma
            ("Conference Room - F123, Bldg. 002",),
            r"DESCRIPTION:Conference Room - F123\, Bldg. 002",
        ),
        # section 3.3.11, the rule ESCAPED-CHAR: backslash, semicolon and comma; a colon is not escaped
        ((r"a\b; c, d: e",), r"DESCRIPTION:a\\b\; c\, d: e"),
    ],
)
def test_text_is_escaped_as_the_standard_writes_it(notes: tuple[str, ...], line: str) -> None:
    assert line in unfolded(written(entry(notes=notes)))


def test_library_reads_back_what_was_written() -> None:
    given = entry(
        title="Dentist; bring card, keys",
        notes=("40 g in the bowl", "a\\b"),
        busy=True,
        cancelled=True,
        alarm=True,
    )
    calendar = icalendar.Calendar.from_ical(written(given))
    assert not calendar.errors
    (event,) = calendar.walk("VEVENT")
    assert not event.errors
    assert str(event["summary"]) == given.title
    assert str(event["description"]) == "40 g in the bowl\na\\b"
    assert (event.start, event.end) == (given.starts_at, given.ends_at)
    assert (event["sequence"], str(event["uid"]), str(event["status"])) == (3, given.uid, "CANCELLED")
    assert event["dtstamp"].dt == event["last-modified"].dt == given.changed_at
    assert str(event["transp"]) == "OPAQUE"
    (alarm,) = event.walk("VALARM")
    assert (str(alarm["action"]), alarm["trigger"].dt) == ("DISPLAY", timedelta(0))


def test_what_the_standard_requires_of_a_calendar_is_there() -> None:
    """Sections 3.6 and 3.6.1: PRODID and VERSION once each; UID and DTSTAMP in every event; 3.6.6: of an alarm."""
    calendar = icalendar.Calendar.from_ical(written(entry(alarm=True), entry(uid="b@pupilage")))
    assert str(calendar["version"]) == "2.0"
    assert calendar["prodid"]
    assert calendar["refresh-interval"].dt == timedelta(minutes=15), "RFC 7986, section 5.7"
    events = calendar.walk("VEVENT")
    assert all(event["uid"] and event["dtstamp"] for event in events)
    assert len({str(event["uid"]) for event in events}) == 2
    (alarm,) = calendar.walk("VALARM")
    assert alarm["description"], "section 3.6.6: a DISPLAY alarm must have a description"


def test_instants_are_written_in_utc() -> None:
    """Section 3.3.5, form 2: a Z at the end; the second 01:30 of an autumn night in Lisbon is its own instant."""
    from zoneinfo import ZoneInfo

    zone = ZoneInfo("Europe/Lisbon")
    first = datetime(2026, 10, 25, 1, 30, tzinfo=zone)
    again = first.replace(fold=1)
    lines = unfolded(
        written(
            entry(starts_at=first, ends_at=again), entry(uid="b", starts_at=again, ends_at=again + timedelta(hours=1))
        )
    )
    assert "DTSTART:20261025T003000Z" in lines
    assert "DTSTART:20261025T013000Z" in lines
    assert "DTEND:20261025T013000Z" in lines
