"""Recordings: bringing them in, how far each is, and letting them go."""

from collections.abc import Iterator
from datetime import UTC
from typing import Annotated
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.utils.translation import gettext
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST
from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, ValidationError

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.reading import Purpose, ReadingState
from pupilage.services.bring_recording import (
    CAPTIONS,
    LARGEST_CAPTIONS_BYTES,
    SOUNDS,
    NewRecording,
    add_bytes,
    add_captions,
    begin_recording,
)
from pupilage.services.delete_recording import delete_recording, delete_sound
from pupilage.services.read_recordings import find_sound, read_recording_line, read_recordings
from pupilage.services.read_waiting import cancel_reading, read_again
from pupilage.web import clock
from pupilage.web.ranges import ranged
from pupilage.web.sync.views import answers_json

BLOCK_BYTES = 1 << 18
PIECE_BYTES = 4 << 20
"""What the page sends at once: a piece that breaks off is sent again."""


class BeginBody(BaseModel):
    """What the page says of a file before it sends it."""

    model_config = ConfigDict(extra="forbid")

    id: UUID
    name: Annotated[str, Field(min_length=1, max_length=255)]
    size: Annotated[int, Field(ge=0)]
    purpose: Purpose = Purpose.SESSION
    began_at: AwareDatetime | None = None
    programme: UUID | None = None
    voices: list[UUID] = Field(default_factory=list, max_length=20)
    keep_sound: bool = False


@require_GET
def recordings(request: HttpRequest, dog_id: UUID) -> HttpResponse:
    """Show a dog's recordings, and the way to bring another one in."""
    page = read_recordings(request.actor, dog_id)
    accept = ",".join((*SOUNDS, *CAPTIONS, "video/*", "audio/*"))
    return render(
        request,
        "pupilage/recordings.html",
        {"page": page, "accept": accept, "piece_bytes": PIECE_BYTES, "upload_words": _upload_words()},
    )


@require_POST
@never_cache
@answers_json
def begin(request: HttpRequest, dog_id: UUID) -> JsonResponse:
    """Make the place for a file, and return where its bytes go and how many are there already."""
    request.actor.require_write()
    try:
        body = BeginBody.model_validate_json(request.body)
    except ValidationError as error:
        read_recordings(request.actor, dog_id)  # no such dog is the truer answer
        told = "The page sent something unreadable: {what}. Load the page again."
        raise InvalidInput.of("file", told, what=error.errors()[0]["msg"]) from error
    new = NewRecording(
        file_name=body.name,
        size_bytes=body.size,
        purpose=body.purpose,
        began_at=body.began_at.astimezone(UTC) if body.began_at else None,
        programme_id=body.programme,
        voice_ids=tuple(body.voices),
        keep_sound=body.keep_sound,
        recording_id=body.id,
    )
    recording_id = begin_recording(request.actor, dog_id, new, now=clock.now())
    return JsonResponse(_arrived(request, recording_id))


@require_http_methods(["GET", "POST"])
@never_cache
@answers_json
def arrive(request: HttpRequest, recording_id: UUID) -> JsonResponse:
    """Store a piece that begins at the header Upload-Offset; on GET say how many bytes are there."""
    if request.method == "POST":
        read_recording_line(request.actor, recording_id)
        request.actor.require_write()
        offset = request.headers.get("Upload-Offset", "")
        if not offset.isascii() or not offset.isdigit():
            raise InvalidInput.of("file", "The page did not say where the piece begins; load the page again.")
        add_bytes(request.actor, recording_id, int(offset), _blocks(request), now=clock.now())
    return JsonResponse(_arrived(request, recording_id))


@require_GET
@never_cache
def state(request: HttpRequest, recording_id: UUID) -> HttpResponse:
    """Return the recording's line of the list, as it is now."""
    line = read_recording_line(request.actor, recording_id)
    return render(request, "pupilage/parts/recording_line.html", {"line": line})


@require_GET
def sound(request: HttpRequest, recording_id: UUID) -> HttpResponseBase:
    """Return the recording's bytes for the page's player, in the ranges that it asks for."""
    found = find_sound(request.actor, recording_id)
    return ranged(request, found.file, found.content_type)


@require_POST
def captions(request: HttpRequest, recording_id: UUID) -> HttpResponse:
    """Put a file of captions beside the recording."""
    dog_id = read_recording_line(request.actor, recording_id).dog_id
    request.actor.require_write()
    sent = request.FILES.get("captions")
    if sent is None:
        raise InvalidInput.of("captions", "No file was chosen; choose one of {known}.", known=", ".join(CAPTIONS))
    content = sent.read(LARGEST_CAPTIONS_BYTES + 1)
    add_captions(request.actor, recording_id, sent.name or "", content, now=clock.now())
    messages.success(request, gettext("The captions are read next."))
    return redirect("recordings", dog_id=dog_id)


@require_POST
def cancel(request: HttpRequest, recording_id: UUID) -> HttpResponse:
    """Stop the reading, and what was heard before stays; or the arrival, and nothing stays."""
    dog_id = read_recording_line(request.actor, recording_id).dog_id
    cancel_reading(request.actor, recording_id, now=clock.now())
    return redirect("recordings", dog_id=dog_id)


@require_POST
def again(request: HttpRequest, recording_id: UUID) -> HttpResponse:
    """Have it read once more."""
    dog_id = read_recording_line(request.actor, recording_id).dog_id
    read_again(request.actor, recording_id, now=clock.now())
    return redirect("recordings", dog_id=dog_id)


@require_POST
def forget(request: HttpRequest, recording_id: UUID) -> HttpResponse:
    """Delete the recording for good, or only its sound."""
    dog_id = read_recording_line(request.actor, recording_id).dog_id
    if request.POST.get("only") == "sound":
        delete_sound(request.actor, recording_id, now=clock.now())
        messages.success(request, gettext("The sound is deleted; what was heard in it stays."))
    else:
        delete_recording(request.actor, recording_id, now=clock.now())
        messages.success(request, gettext("Deleted for good. Backups made before today still have it."))
    return redirect("recordings", dog_id=dog_id)


def _arrived(request: HttpRequest, recording_id: UUID) -> dict[str, object]:
    line = read_recording_line(request.actor, recording_id)
    return {"id": str(line.id), "n_bytes": line.n_bytes, "arriving": line.state is ReadingState.ARRIVING}


def _blocks(request: HttpRequest) -> Iterator[bytes]:
    """Return the body block by block: a piece is never held in memory whole."""
    while block := request.read(BLOCK_BYTES):
        yield block


def _upload_words() -> dict[str, str]:
    return {
        "sending": gettext("Sending {name}: {share}"),
        "waiting": gettext("No connection. It goes on from {share} by itself."),
        "sent": gettext("{name} has arrived."),
        "choose": gettext("Choose a file first."),
        "signed_out": gettext("You are signed out; sign in in another tab, and it goes on."),
    }
