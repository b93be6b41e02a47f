"""Pages are asked for as a signed-in person at a fixed moment."""

from collections.abc import Callable
from datetime import datetime, timedelta
from uuid import UUID, uuid4

import pytest
from django.test import Client

from pupilage.core.access import Actor
from pupilage.core.recordings.reading import WordRole


@pytest.fixture(autouse=True)
def fixed_clock(monkeypatch: pytest.MonkeyPatch, now: datetime) -> None:
    """Every page is asked for at the same moment."""
    monkeypatch.setattr("pupilage.web.clock.now", lambda: now)


@pytest.fixture
def signed_in() -> Callable[[Actor], Client]:
    """Return a function that gives a client signed in as a person."""
    from pupilage.storage.models import User

    def make(person: Actor) -> Client:
        client = Client()
        client.force_login(User.objects.get(id=person.user_id))
        return client

    return make


@pytest.fixture
def keeper_client(actor: Actor, signed_in: Callable[[Actor], Client]) -> Client:
    return signed_in(actor)


@pytest.fixture
def reader_client(reader: Actor, signed_in: Callable[[Actor], Client]) -> Client:
    return signed_in(reader)


@pytest.fixture
def stranger_client(stranger: Actor, signed_in: Callable[[Actor], Client]) -> Client:
    return signed_in(stranger)


@pytest.fixture
def session(actor: Actor, programme: UUID, new_session: Callable[..., UUID]) -> UUID:
    """The id of an ended session of twelve tries at a first step."""
    from pupilage.storage.catalogue_files import load_catalogue

    behaviour = next(iter(load_catalogue().behaviours.values()))
    return new_session(actor, programme, behaviour.key, behaviour.steps[0].key, ["met"] * 9 + ["missed"] * 3)


@pytest.fixture
def care_event(actor: Actor, dog: UUID, now: datetime) -> UUID:
    """The id of an entry of the care log."""
    from pupilage.core.care.events import CareDetail, CareKind
    from pupilage.services.log_care import CareEntry, log_care

    entry = CareEntry(CareKind.OUTING, now, CareDetail.WEE)
    return UUID(log_care(actor, dog, entry, now=now).id)


@pytest.fixture
def incident(actor: Actor, dog: UUID, now: datetime) -> UUID:
    """The id of an incident."""
    from pupilage.services.log_incident import IncidentEntry, log_incident

    return log_incident(actor, dog, IncidentEntry("counter-stealing", now), now=now)


@pytest.fixture
def recording(actor: Actor, dog: UUID, now: datetime) -> UUID:
    """The id of a recording that has arrived."""
    from pupilage.services.bring_recording import NewRecording, add_bytes, begin_recording

    recording_id = begin_recording(actor, dog, NewRecording("garden.wav", 4), now=now)
    add_bytes(actor, recording_id, 0, [b"RIFF"], now=now)
    return recording_id


@pytest.fixture
def interval_run(actor: Actor, dog: UUID, now: datetime) -> UUID:
    """The id of a run with the timer that nobody has begun."""
    from pupilage.core.incidents.interval_runs import Spacing
    from pupilage.services.start_interval_run import RunStart, start_interval_run

    return start_interval_run(actor, dog, RunStart("mouthing-hands", Spacing.FIXED, 12, 30.0), now=now)


@pytest.fixture
def change_plan(actor: Actor, dog: UUID, now: datetime) -> UUID:
    """The id of a plan against an unwanted behaviour."""
    from pupilage.services.save_change_plan import ChangePlanEntry, save_change_plan
    from pupilage.storage.catalogue_files import load_catalogue

    lines = load_catalogue().unwanted["counter-stealing"].arrange[:2]
    entry = ChangePlanEntry("counter-stealing", now.date(), arrange=lines, replacement="settle-on-mat")
    return save_change_plan(actor, dog, entry, now=now)


@pytest.fixture
def absence(actor: Actor, dog: UUID, now: datetime) -> UUID:
    """The id of a calm absence of two minutes, an hour ago."""
    from pupilage.core.incidents.absences import AbsenceRecord
    from pupilage.services.log_absence import log_absence

    return log_absence(actor, dog, AbsenceRecord(str(uuid4()), now - timedelta(hours=1), 120.0), now=now)


@pytest.fixture
def family_link(actor: Actor, programme: UUID, now: datetime) -> UUID:
    """The id of a family's link."""
    from pupilage.services.share_family_page import NewLink, make_family_link
    from pupilage.storage.models import FamilyLink

    make_family_link(actor, programme, NewLink("Linden house", may_write=True), now=now)
    return FamilyLink.objects.get().id


@pytest.fixture
def family_media(actor: Actor, programme: UUID, now: datetime) -> UUID:
    """The id of a picture on a family's page; put there at once, since making it anew starts a process."""
    from made_pictures import made_png
    from pupilage.storage.models import FamilyMedia

    body = made_png(64, 48)
    row = FamilyMedia.objects.create(
        workspace_id=actor.workspace_id, programme_id=programme, kind="picture", body=body, n_bytes=len(body),
        width=64, height=48, words="Moss", added_at=now,
    )  # fmt: skip
    return row.id


@pytest.fixture
def taught(actor: Actor, recording: UUID, now: datetime) -> tuple[UUID, UUID, UUID]:
    """A voice, a word of it, and one example whose sound is kept; it is taken for another word, and was checked."""
    from pupilage.core.recordings.events import EventState
    from pupilage.services.judge_recording import Judgement, judge_events
    from pupilage.services.keep_voice import VoiceEntry, keep_voice
    from pupilage.services.keep_word import WordEntry, keep_word
    from pupilage.storage.models import RecordingEvent, Voice, VoiceSample

    voice = keep_voice(actor, VoiceEntry("Wren", keep_sound=True), now=now)
    word = keep_word(actor, voice, WordEntry("zitten", WordRole.CUE, "sit"), now=now)
    twin = keep_word(actor, voice, WordEntry("seduta", WordRole.CUE, "sit"), now=now)
    sample = VoiceSample.objects.create(
        workspace_id=actor.workspace_id, word_id=word, duration_s=0.2, sound=bytes(6400), heard_at=now
    )
    alike = {"words": [str(word), str(twin)], "shares": [[0.1, 0.5, 0.4], [0.3, 0.1, 0.6]]}
    Voice.objects.filter(id=voice).update(look_alikes=alike, made_at=now)
    event = RecordingEvent.objects.create(
        workspace_id=actor.workspace_id, recording_id=recording, voice_id=voice, speaker="Wren", label="zitten",
        kind="cue", source="sound", start_s=1.0, end_s=1.4, confidence=0.8,
    )  # fmt: skip
    judge_events(actor, recording, [Judgement(event.id, EventState.CONFIRMED)], now=now)
    return voice, word, sample.id


@pytest.fixture
def places(
    programme: UUID,
    dog: UUID,
    session: UUID,
    care_event: UUID,
    incident: UUID,
    recording: UUID,
    interval_run: UUID,
    change_plan: UUID,
    absence: UUID,
    family_link: UUID,
    family_media: UUID,
    taught: tuple[UUID, UUID, UUID],
) -> dict[str, str]:
    """What fills the converters of every URL, for the first workspace."""
    from pupilage.storage.catalogue_files import load_catalogue

    return {
        "programme_id": str(programme),
        "dog_id": str(dog),
        "session_id": str(session),
        "event_id": str(care_event),
        "incident_id": str(incident),
        "recording_id": str(recording),
        "run_id": str(interval_run),
        "plan_id": str(change_plan),
        "behaviour": "counter-stealing",
        "absence_id": str(absence),
        "voice_id": str(taught[0]),
        "word_id": str(taught[1]),
        "sample_id": str(taught[2]),
        "link_id": str(family_link),
        "media_id": str(family_media),
        "key": next(iter(load_catalogue().behaviours)),
        "item": "grass",
        "phone_id": "00000000-0000-4000-8000-000000000000",
        "token": "no-such-token",
    }
