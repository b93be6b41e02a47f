"""Voices: who gives cues, their words, and teaching them from a recording or into the microphone."""

from urllib.parse import unquote
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.reading import WordRole
from pupilage.services.add_sample import LARGEST_BYTES, AddedSample, add_sound, add_stretch, remove_sample, tap_sample
from pupilage.services.keep_voice import VoiceEntry, choose_voices, delete_voice, keep_voice
from pupilage.services.keep_word import WordEntry, delete_word, keep_word, voice_of_word
from pupilage.services.learn_voice import ask_to_learn, learn_from_checked
from pupilage.services.read_recordings import read_recording_line
from pupilage.services.read_voices import (
    VoicePage,
    find_sample_sound,
    read_voice,
    read_voice_line,
    read_voices,
)
from pupilage.web import clock
from pupilage.web.sync.views import answers_json
from pupilage.web.voice_words import role_words, teach_words
from pupilage.web.words import said, said_problems

LONGEST_NAME = 255
VIDEOS = (".mp4", ".mov", ".m4v", ".webm", ".mkv", ".3gp")


@require_http_methods(["GET", "POST"])
def voices(request: HttpRequest) -> HttpResponse:
    """Show who gives cues; on POST add somebody."""
    if request.method == "POST":
        request.actor.require_write()
        try:
            entry = VoiceEntry(request.POST.get("name", ""), keep_sound="keep_sound" in request.POST)
            return redirect("voice", voice_id=keep_voice(request.actor, entry, now=clock.now()))
        except InvalidInput as error:
            _say(request, error)
            return redirect("voices")
    return render(request, "pupilage/voices.html", {"lines": read_voices(request.actor)})


@require_GET
@never_cache
@ensure_csrf_cookie
def voice(request: HttpRequest, voice_id: UUID) -> HttpResponse:
    """Show one voice: its words, what sounds alike, how far learning is."""
    page = read_voice(request.actor, voice_id)
    return render(request, "pupilage/voice.html", {**_shown(page), "page_words": teach_words()})


@require_GET
@never_cache
def learning(request: HttpRequest, voice_id: UUID) -> HttpResponse:
    """Return how far the learning is."""
    line = read_voice_line(request.actor, voice_id)
    return render(request, "pupilage/parts/voice_learning.html", {"line": line, "has_ended": True})


@require_POST
def change(request: HttpRequest, voice_id: UUID) -> HttpResponse:
    """Give a voice another name, choose whether its sound is kept, put it aside or take it back."""
    read_voice_line(request.actor, voice_id)
    request.actor.require_write()
    entry = VoiceEntry(request.POST.get("name", ""), "keep_sound" in request.POST, "retired" in request.POST)
    try:
        keep_voice(request.actor, entry, now=clock.now(), voice_id=voice_id)
        messages.success(request, gettext("Kept."))
    except InvalidInput as error:
        _say(request, error)
    return redirect("voice", voice_id=voice_id)


@require_POST
def forget(request: HttpRequest, voice_id: UUID) -> HttpResponse:
    """Delete a voice for good."""
    delete_voice(request.actor, voice_id, now=clock.now())
    messages.success(request, gettext("Deleted for good. Backups made before today still have it."))
    return redirect("voices")


@require_POST
def learn(request: HttpRequest, voice_id: UUID) -> HttpResponse:
    """Let the words be learned."""
    read_voice_line(request.actor, voice_id)
    request.actor.require_write()
    try:
        ask_to_learn(request.actor, voice_id, now=clock.now())
    except InvalidInput as error:
        _say(request, error)
    return redirect("voice", voice_id=voice_id)


@require_POST
def words(request: HttpRequest, voice_id: UUID) -> HttpResponse:
    """Add a word; from the teaching page, go back there with it chosen."""
    read_voice_line(request.actor, voice_id)
    request.actor.require_write()
    try:
        word_id = keep_word(request.actor, voice_id, _entry(request), now=clock.now())
    except InvalidInput as error:
        _say(request, error)
        word_id = None
    place = request.POST.get("recording", "")
    if place:
        chosen = f"&word={word_id}" if word_id else ""
        answer = redirect("teach", recording_id=_id(place))
        answer["Location"] += f"?voice={voice_id}{chosen}"
        return answer
    return redirect("voice", voice_id=voice_id)


@require_POST
def word(request: HttpRequest, word_id: UUID) -> HttpResponse:
    """Call a word otherwise, or delete it with its examples."""
    if request.POST.get("do") == "delete":
        voice_id = delete_word(request.actor, word_id, now=clock.now())
        messages.success(request, gettext("Deleted for good. What was learned from it is learned anew without it."))
        return redirect("voice", voice_id=voice_id)
    voice_id = voice_of_word(request.actor, word_id)
    try:
        keep_word(request.actor, voice_id, _entry(request), now=clock.now(), word_id=word_id)
        messages.success(request, gettext("Kept."))
    except InvalidInput as error:
        _say(request, error)
    return redirect("voice", voice_id=voice_id)


@require_POST
@never_cache
@answers_json
def sound(request: HttpRequest, word_id: UUID) -> JsonResponse:
    """Take an example out of a sound that was recorded in the browser or chosen as a file."""
    name = unquote(request.headers.get("Upload-Name", "sound"))[:LONGEST_NAME]
    content = request.read(LARGEST_BYTES + 1)
    return _added(add_sound(request.actor, word_id, content, name, now=clock.now()))


@require_GET
def sample(request: HttpRequest, sample_id: UUID) -> HttpResponse:
    """Play one example."""
    answer = HttpResponse(find_sample_sound(request.actor, sample_id), content_type="audio/wav")
    answer["Cache-Control"] = "no-store"
    return answer


@require_POST
@never_cache
@answers_json
def forget_sample(request: HttpRequest, sample_id: UUID) -> HttpResponse:
    """Delete one example for good."""
    word_id = remove_sample(request.actor, sample_id, now=clock.now())
    return JsonResponse({"word": str(word_id)})


@require_GET
@never_cache
@ensure_csrf_cookie
def teach(request: HttpRequest, recording_id: UUID) -> HttpResponse:
    """Play a recording, and tap at each example of a word."""
    line = read_recording_line(request.actor, recording_id)
    known = [one for one in read_voices(request.actor) if not one.retired]
    asked = request.GET.get("voice", "")
    chosen = next((one for one in known if str(one.id) == asked), known[0] if known else None)
    context: dict[str, object] = {
        "line": line,
        "known": known,
        "chosen_word": request.GET.get("word", ""),
        "is_video": line.file_name.casefold().endswith(VIDEOS),
        "page_words": teach_words(),
    }
    if chosen is not None:
        context |= _shown(read_voice(request.actor, chosen.id))
    return render(request, "pupilage/teach.html", context)


@require_POST
@never_cache
@answers_json
def tap(request: HttpRequest, recording_id: UUID) -> JsonResponse:
    """Cut the example that a tap means, or a stretch between two."""
    read_recording_line(request.actor, recording_id)
    request.actor.require_write()
    now, at_s = clock.now(), _seconds(request.POST.get("at", ""))
    if request.POST.get("role"):
        voice_id, role = _id(request.POST.get("voice", "")), _role(request.POST.get("role", ""))
        times = (at_s, _seconds(request.POST.get("to", "")))
        return _added(add_stretch(request.actor, voice_id, recording_id, role, times, now=now))
    word_id = _id(request.POST.get("word", ""))
    sample_id = _id(request.POST["id"]) if request.POST.get("id") else None
    return _added(tap_sample(request.actor, word_id, recording_id, at_s, now=now, sample_id=sample_id))


@require_POST
def choose(request: HttpRequest, recording_id: UUID) -> HttpResponse:
    """Say whose voices are in a recording, and have it read again."""
    line = read_recording_line(request.actor, recording_id)
    request.actor.require_write()
    chosen = [_id(one) for one in request.POST.getlist("voices")]
    choose_voices(request.actor, recording_id, chosen, now=clock.now())
    messages.success(request, gettext("It is read again now; what you judged stays."))
    return redirect("recordings", dog_id=line.dog_id)


@require_POST
def learn_checked(request: HttpRequest, recording_id: UUID) -> HttpResponse:
    """Let the voices of a recording learn from what was checked in it."""
    read_recording_line(request.actor, recording_id)
    request.actor.require_write()
    if learn_from_checked(request.actor, recording_id, now=clock.now()):
        messages.success(request, gettext("It is being learned from what you checked."))
    else:
        messages.info(request, gettext("There is nothing new to learn from in it."))
    return redirect("recording", recording_id=recording_id)


def _shown(page: VoicePage) -> dict[str, object]:
    names = role_words()
    roles = [(role.value, names[role.value]) for role in page.roles]
    lines = [(word, names[word.role.value]) for word in page.words]
    asked = [(gettext("goals of your pups"), page.goals), (gettext("the rest of the catalogue"), page.others)]
    return {"voice": page, "roles": roles, "word_lines": lines, "asked_for": [one for one in asked if one[1]]}


def _added(found: AddedSample) -> JsonResponse:
    return JsonResponse({
        "id": str(found.id),
        "word": str(found.word_id),
        "start": round(found.start_s, 3),
        "end": round(found.end_s, 3),
        "n": found.n_samples,
        "remarks": [said(one) for one in found.remarks],
    })  # fmt: skip


def _entry(request: HttpRequest) -> WordEntry:
    text, behaviour = request.POST.get("text", ""), request.POST.get("behaviour", "")
    return WordEntry(text, _role(request.POST.get("role", "")), behaviour)


def _role(given: str) -> WordRole:
    try:
        return WordRole(given)
    except ValueError as error:
        raise InvalidInput.of("role", "Choose what the word is for.") from error


def _id(given: str) -> UUID:
    try:
        return UUID(given)
    except ValueError as error:
        raise InvalidInput.of("id", "Choose one of the list; load the page again.") from error


def _seconds(given: str) -> float:
    try:
        return float(given)
    except ValueError as error:
        raise InvalidInput.of("at_s", "The page did not say where it was tapped; load it again.") from error


def _say(request: HttpRequest, error: InvalidInput) -> None:
    for problem in said_problems(error):
        messages.error(request, problem)
