"""Run as a script: fills a fresh database in PUPILAGE_DATA through the services and serves it on a free port.

With an hour as its argument, the clock of the pages begins at that local hour of today; with “planned” after it, the
day's timetable was made three hours before.
Prints one line of JSON: the address, a one-time sign-in token, and the ids that the pages are made for.
"""

import json
import os
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import UUID, uuid4
from zoneinfo import ZoneInfo

import django

os.environ["DJANGO_SETTINGS_MODULE"] = "pupilage.settings.local"
django.setup()

from cheroot.wsgi import Server  # noqa: E402
from django.core.management import call_command  # noqa: E402
from django.utils import timezone  # noqa: E402

sys.path.insert(0, str(Path(__file__).parents[1]))
from made_pictures import made_clip, made_png  # noqa: E402
from made_recordings import made_events, made_wav  # noqa: E402
from pupilage.core.access import Actor  # noqa: E402
from pupilage.core.care.events import CareDetail, CareKind  # noqa: E402
from pupilage.core.evaluation.codings import Entry, EntryKind  # noqa: E402
from pupilage.core.incidents.absences import AbsenceRecord, SignAt  # noqa: E402
from pupilage.core.incidents.alone import Sign  # noqa: E402
from pupilage.core.incidents.interval_runs import Spacing  # noqa: E402
from pupilage.core.recordings.reading import WordRole  # noqa: E402
from pupilage.core.training.record.events import Event, EventKind  # noqa: E402
from pupilage.services.bring_recording import NewRecording, add_bytes, begin_recording  # noqa: E402
from pupilage.services.keep_coding import CodingGiven, Subject, keep_coding  # noqa: E402
from pupilage.services.keep_voice import VoiceEntry, keep_voice  # noqa: E402
from pupilage.services.keep_word import WordEntry, keep_word  # noqa: E402
from pupilage.services.log_absence import log_absence  # noqa: E402
from pupilage.services.log_care import CareEntry, log_care  # noqa: E402
from pupilage.services.log_incident import IncidentEntry, log_incident  # noqa: E402
from pupilage.services.make_day_plan import make_day_plan  # noqa: E402
from pupilage.services.open_workspace import NewWorkspace, open_workspace  # noqa: E402
from pupilage.services.plan_programme import plan_programme  # noqa: E402
from pupilage.services.read_catalogue import read_catalogue  # noqa: E402
from pupilage.services.read_programme import find_current_head  # noqa: E402
from pupilage.services.read_waiting import Heard, read_waiting  # noqa: E402
from pupilage.services.record_events import record_events  # noqa: E402
from pupilage.services.save_change_plan import ChangePlanEntry, save_change_plan  # noqa: E402
from pupilage.services.save_family_page import NewMedia, add_family_media  # noqa: E402
from pupilage.services.set_goals import GoalChoice, set_goals  # noqa: E402
from pupilage.services.share_family_page import NewLink, make_family_link  # noqa: E402
from pupilage.services.sign_in import issue_sign_in_link  # noqa: E402
from pupilage.services.start_interval_run import RunStart, start_interval_run  # noqa: E402
from pupilage.services.start_programme import Intake, NewDog, NewReinforcer, start_programme  # noqa: E402
from pupilage.storage.models import Voice, VoiceSample  # noqa: E402
from pupilage.web import clock  # noqa: E402

SURE = "stand"
"""The behaviour that is sure at its goal, so that not every try of it is rewarded with food."""

ZONE = "Europe/Lisbon"
STARTED = timezone.now()


def begin_at(hour: int) -> datetime:
    """Let the clock of the pages begin at this local hour of today, and run on from there."""
    begin = STARTED.astimezone(ZoneInfo(ZONE)).replace(hour=hour, minute=0, second=0, microsecond=0).astimezone(UTC)
    clock.now = lambda: begin + (timezone.now() - STARTED)
    return begin


NOW = begin_at(int(sys.argv[1])) if sys.argv[1:] else STARTED
TODAY = NOW.date()


def start_stay(actor: Actor) -> str:
    """Start a stay that is eleven days old, and return its id."""
    pup = NewDog(
        "Tansy", TODAY - timedelta(weeks=11), "female", "mixed", 5.2, 18.0, "dry food", 210.0, 370.0, "limping"
    )
    intake = Intake(
        household="Wren's yard",
        pup=pup,
        arrival_on=TODAY - timedelta(days=10),
        handover_on=TODAY + timedelta(days=11),
        family="Linden house",
        resident=NewDog("Moss", TODAY - timedelta(days=2000)),
        vet_dates=((TODAY + timedelta(days=3), "second vaccination"),),
        reinforcers=(
            NewReinforcer("dry food", 0.4, 370.0, from_ration=True),
            NewReinforcer("cooked chicken", 0.5, 165.0),
        ),
    )
    return str(start_programme(actor, intake, now=NOW))


def write_sessions(actor: Actor, programme: str) -> list[str]:
    """Write sessions of some behaviours over the days, and return their ids."""
    written = []
    for n, key in enumerate(["sit", "recall", "name-response", "sit", "sit", "recall", "stay", "sit"]):
        step = read_catalogue().behaviours[key].steps[min(n // 3, 2)].key
        outcomes = ["met", "met", "missed", "met", "met", "met", "helped", "met", "met", "met"]
        written.append(write_session(actor, programme, key, step, outcomes, days_ago=8 - n))
    return written


def write_session(actor: Actor, programme: str, key: str, step: str, outcomes: list[str], *, days_ago: int) -> str:
    """Write one ended session."""
    session, device, at = str(uuid4()), str(uuid4()), NOW - timedelta(days=days_ago, minutes=30)
    start = {"programme": programme, "behaviour": key, "step": step, "reinforcer": "dry food", "pieces": 40}
    entries = [
        (EventKind.SESSION_STARTED, start),
        *((EventKind.TRIAL, {"outcome": outcome, "pieces": 1, "latency_s": 1.2}) for outcome in outcomes),
        (EventKind.NOTE, {"text": "A lorry passed."}),
        (EventKind.SESSION_ENDED, {}),
    ]
    events = [
        Event(str(uuid4()), device, n, session, kind, at + timedelta(seconds=7 * n), 0, payload)
        for n, (kind, payload) in enumerate(entries)
    ]
    undo = Event(
        str(uuid4()),
        device,
        99,
        session,
        EventKind.WITHDRAWN,
        at + timedelta(seconds=200),
        0,
        {"event": events[3].id},
    )
    record_events(actor, [*events, undo], now=NOW)
    return session


def make_sure(actor: Actor, programme: str, key: str) -> None:
    """Meet every try of a behaviour on nine days, the last three of them at its goal."""
    behaviour = read_catalogue().behaviours[key]
    goal = behaviour.step_index(behaviour.target) or 0
    for days_ago in range(9, 0, -1):
        step = behaviour.steps[max(0, goal - max(0, days_ago - 3))]
        write_session(actor, programme, key, step.key, ["met"] * 11, days_ago=days_ago)


def write_care(actor: Actor, dog: object) -> None:
    """Write a morning's care log and an incident."""
    for minutes, kind, detail, grams in (
        (95, CareKind.NAP, CareDetail.END, None),
        (92, CareKind.OUTING, CareDetail.BOTH, None),
        (80, CareKind.MEAL, CareDetail.PLAIN, 60.0),
        (30, CareKind.OUTING, CareDetail.WEE, None),
    ):
        log_care(actor, dog, CareEntry(kind, NOW - timedelta(minutes=minutes), detail, grams), now=NOW)
    behaviour = next(iter(read_catalogue().unwanted))
    entry = IncidentEntry(
        behaviour, NOW - timedelta(minutes=20), "kitchen", "shoes on the floor", "a chase", "laughed and ran after"
    )
    log_incident(actor, dog, entry, now=NOW)


def write_plan(actor: Actor, dog: UUID) -> str:
    """Write nine days of an unwanted behaviour and a plan against it; return its key."""
    key = "digging"
    for days_ago, n in zip(range(9, 0, -1), (3, 2, 4, 3, 3, 1, 0, 1, 0), strict=True):
        morning = (NOW - timedelta(days=days_ago)).replace(hour=8)
        for hours, detail in ((0, CareDetail.START), (8, CareDetail.END)):
            log_care(actor, dog, CareEntry(CareKind.BUSY, morning + timedelta(hours=hours), detail), now=NOW)
        for k in range(n):
            log_incident(actor, dog, IncidentEntry(key, morning + timedelta(hours=1 + k)), now=NOW)
    lines = read_catalogue().unwanted[key].arrange
    starts_on = (NOW - timedelta(days=4)).date()
    save_change_plan(actor, dog, ChangePlanEntry(key, starts_on, arrange=lines, gain_stops=True), now=NOW)
    return key


def write_thefts(actor: Actor, dog: UUID) -> None:
    """Write eight hours awake on each of five days, food in reach for some of them, and eight thefts just then."""
    for days_ago in range(2, 7):
        start = NOW.replace(hour=7, minute=0) - timedelta(days=days_ago)
        for minutes, kind, detail in (
            (0, CareKind.NAP, CareDetail.END),
            (60, CareKind.IN_REACH, CareDetail.START),
            (85, CareKind.IN_REACH, CareDetail.END),
            (480, CareKind.NAP, CareDetail.START),
        ):
            log_care(actor, dog, CareEntry(kind, start + timedelta(minutes=minutes), detail), now=NOW)
    for n in range(8):
        at = NOW.replace(hour=8, minute=3 + 2 * n) - timedelta(days=2 + n % 5)
        log_incident(actor, dog, IncidentEntry("counter-stealing", at, "kitchen"), now=NOW)


def write_coding(actor: Actor, session: str) -> str:
    """Code a session as a second person who saw one try otherwise and one not at all; return the session's id."""
    told = ["met", "missed", None, "met", "met", "met", "helped", "met", "met"]
    entries = [
        Entry(str(uuid4()), EntryKind.MARK, 7.0 * n + 7.6, code) for n, code in enumerate(told) if code is not None
    ]
    entries.append(Entry(str(uuid4()), EntryKind.ENDED, 80.0))
    keep_coding(actor, Subject(session_id=UUID(session)), CodingGiven(uuid4(), "Pia", tuple(entries)), now=NOW)
    return session


def write_recording(actor: Actor, programme: str, dog: UUID, *, minutes: float) -> str:
    """Bring in a recording that ended an hour ago and was read, and return its id."""
    duration_s = 60.0 * minutes
    events = made_events(duration_s)
    sound = made_wav(events, duration_s)
    began_at = NOW - timedelta(hours=1, minutes=minutes)
    new = NewRecording("garden.wav", len(sound), began_at=began_at, programme_id=UUID(programme), keep_sound=True)
    recording_id = begin_recording(actor, dog, new, now=NOW)
    add_bytes(actor, recording_id, 0, [sound], now=NOW)
    result = {"onsets_s": [event.start_s for event in events]}
    heard = Heard([(event, None) for event in events], duration_s, result=result)
    read_waiting("filled", lambda _recording, _told: heard, lambda: NOW, only=recording_id)
    return str(recording_id)


def write_voice(actor: Actor) -> str:
    """Teach a voice two words with an example each, that are taken for each other."""
    voice = keep_voice(actor, VoiceEntry("Wryneck", keep_sound=True), now=NOW)
    said = {text: keep_word(actor, voice, WordEntry(text, WordRole.CUE, "sit"), now=NOW) for text in ("sit", "seduta")}
    for word_id in said.values():
        VoiceSample.objects.create(
            workspace_id=actor.workspace_id, word_id=word_id, duration_s=0.2, sound=bytes(6400), heard_at=NOW
        )
    alike = {"words": [str(one) for one in said.values()], "shares": [[0.1, 0.5, 0.4], [0.3, 0.1, 0.6]]}
    Voice.objects.filter(id=voice).update(look_alikes=alike, made_at=NOW)
    return str(voice)


def write_absences(actor: Actor, dog: UUID) -> None:
    """Write nine absences of three days, two of them with a sign."""
    for n in range(9):
        at = NOW - timedelta(days=3 - n // 3, hours=2 - n % 3)
        signs = (SignAt(Sign.WHINING, 20.0 + n),) if n in (2, 7) else ()
        log_absence(actor, dog, AbsenceRecord(str(uuid4()), at, 30.0 + n, signs), now=NOW)


def write_family(actor: Actor, programme: UUID) -> str:
    """Put a picture and a clip on the family's page, and return the token of a link that writes."""
    add_family_media(actor, programme, NewMedia(made_png(640, 480), "On the mat"), now=NOW)
    add_family_media(actor, programme, NewMedia(made_clip(1.0), "Comes when called", with_sound=True), now=NOW)
    return make_family_link(actor, programme, NewLink("Linden house", may_write=True), now=NOW)


def fill() -> dict[str, str]:
    """Fill the database and return what a test needs to find its way."""
    call_command("migrate", verbosity=0)
    call_command("collectstatic", interactive=False, verbosity=0)
    actor = open_workspace(NewWorkspace("Wren's yard", "wren", "Wren", ZONE), now=NOW)
    programme = start_stay(actor)
    keys = ["sit", "recall", "name-response", "stay", "settle-on-mat", "loose-lead", "drop"]
    behaviours = read_catalogue().behaviours
    set_goals(actor, programme, [GoalChoice(k, behaviours[k].target, behaviours[k].weight) for k in keys], now=NOW)
    sessions = write_sessions(actor, programme)
    make_sure(actor, programme, SURE)
    dog = find_current_head(actor, now=NOW).dog_id
    write_care(actor, dog)
    planned = write_plan(actor, dog)
    write_thefts(actor, dog)
    write_absences(actor, dog)
    if sys.argv[2:] == ["planned"]:
        make_day_plan(actor, UUID(programme), TODAY, now=NOW - timedelta(hours=3))
    plan_programme(actor, UUID(programme), now=NOW)
    return {
        "token": issue_sign_in_link(actor.user_id, now=NOW),
        "programme": programme,
        "dog": str(dog),
        "recording": write_recording(actor, programme, dog, minutes=1.5),
        "long": write_recording(actor, programme, dog, minutes=20.0),
        "voice": write_voice(actor),
        "session": sessions[-1],
        "coded": write_coding(actor, sessions[0]),
        "run": str(start_interval_run(actor, dog, RunStart("mouthing-hands", Spacing.VARIABLE, 12, 7.5), now=NOW)),
        "family": write_family(actor, UUID(programme)),
        "sure": SURE,
        "planned": planned,
        "unwanted": next(iter(read_catalogue().unwanted)),
    }


def serve() -> None:
    """Fill, say where, and serve until killed."""
    known = fill()
    from pupilage.web.wsgi import application  # finds the static files that `fill` has collected

    server = Server(("127.0.0.1", 0), application)
    server.prepare()
    print(json.dumps({"url": f"http://127.0.0.1:{server.bind_addr[1]}", **known}), flush=True)  # noqa: T201
    server.serve()


if __name__ == "__main__":
    sys.exit(serve())
