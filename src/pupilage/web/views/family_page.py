"""The trainer's side of the family's page: links, what it shows, pictures and clips, and how it looks."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from pupilage.core.errors import Conflict, InvalidInput, PupilageError
from pupilage.reports.square_code import square_code
from pupilage.services.read_family_view import preview_family_view
from pupilage.services.read_programme import ProgrammeHead
from pupilage.services.save_family_page import (
    FamilyPageSettings,
    NewMedia,
    add_family_media,
    delete_family_media,
    get_family_media,
    read_family_settings,
    save_family_choices,
)
from pupilage.services.save_handover_words import read_pack_page
from pupilage.services.share_family_page import list_family_links, make_family_link, revoke_family_link
from pupilage.storage.pictures.remaking import LARGEST_CLIP_BYTES
from pupilage.web import clock
from pupilage.web.forms.family import ChoicesForm, LinkForm, MediaForm
from pupilage.web.forms.problems import add_problems
from pupilage.web.media import media_response
from pupilage.web.views.family import page_response
from pupilage.web.words import said_problems


@require_safe
def family_page(request: HttpRequest, programme_id: UUID) -> HttpResponse:
    """Show the links, what is shown, and the pictures."""
    return _page(request, programme_id)


@never_cache
@require_POST
def family_link(request: HttpRequest, programme_id: UUID) -> HttpResponse:
    """Make a link and show it once."""
    read_family_settings(request.actor, programme_id)
    request.actor.require_write()
    form = LinkForm(request.POST)
    if form.is_valid():
        try:
            token = make_family_link(request.actor, programme_id, form.new(), now=clock.now())
        except InvalidInput as error:
            add_problems(form, error)
        else:
            address = request.build_absolute_uri(reverse("family", args=[token]))
            given = {"address": address, "code": square_code(address), "only_here": _is_only_here(request)}
            return _page(request, programme_id, address_for=form.new().for_whom, **given)
    return _page(request, programme_id, status=422, link_form=form)


@require_POST
def family_link_stop(request: HttpRequest, programme_id: UUID, link_id: UUID) -> HttpResponse:
    """Stop a link at once."""
    revoke_family_link(request.actor, programme_id, link_id, now=clock.now())
    messages.success(request, gettext("The link has stopped working."))
    return redirect("family-page", programme_id=programme_id)


@require_POST
def family_choices(request: HttpRequest, programme_id: UUID) -> HttpResponse:
    """Write what the page shows."""
    settings = read_family_settings(request.actor, programme_id)
    request.actor.require_write()
    form = ChoicesForm(request.POST, behaviours=settings.behaviours)
    if form.is_valid():
        try:
            save_family_choices(request.actor, programme_id, form.choices(), now=clock.now())
        except InvalidInput as error:
            add_problems(form, error)
        else:
            messages.success(request, gettext("Written down."))
            return redirect("family-page", programme_id=programme_id)
    return _page(request, programme_id, status=422, choices_form=form)


@require_POST
def family_media_add(request: HttpRequest, programme_id: UUID) -> HttpResponse:
    """Make a picture or a clip anew and show it."""
    read_family_settings(request.actor, programme_id)
    request.actor.require_write()
    form = MediaForm(request.POST, request.FILES)
    if form.is_valid():
        sent = form.cleaned_data["file"]
        new = NewMedia(sent.read(LARGEST_CLIP_BYTES + 1), form.cleaned_data["words"], form.cleaned_data["with_sound"])
        try:
            add_family_media(request.actor, programme_id, new, now=clock.now())
        except InvalidInput as error:
            add_problems(form, error)
        except Conflict as error:
            _refuse(form, error)
        else:
            messages.success(request, gettext("It is on the family's page now."))
            return redirect("family-page", programme_id=programme_id)
    return _page(request, programme_id, status=422, media_form=form)


@require_POST
def family_media_delete(request: HttpRequest, programme_id: UUID, media_id: UUID) -> HttpResponse:
    """Delete a picture or a clip for good."""
    delete_family_media(request.actor, programme_id, media_id, now=clock.now())
    messages.success(request, gettext("It is deleted."))
    return redirect("family-page", programme_id=programme_id)


@require_safe
def family_media_show(request: HttpRequest, programme_id: UUID, media_id: UUID) -> HttpResponse:
    """Give a picture or a clip to the trainer's own pages."""
    return media_response(request, *get_family_media(request.actor, programme_id, media_id))


@require_safe
def family_preview(request: HttpRequest, programme_id: UUID) -> HttpResponse:
    """Show the page as the family sees it."""
    view = preview_family_view(
        request.actor, programme_id, request.GET.get("language", request.actor.language), now=clock.now()
    )
    return page_response(request, view, None, "")


def _is_only_here(request: HttpRequest) -> bool:
    """Whether the address by which this page was opened leads nowhere from another device."""
    host = request.get_host().rsplit(":", 1)[0] if not request.get_host().endswith("]") else request.get_host()
    return host in {"localhost", "127.0.0.1", "[::1]"}


def _refuse(form: Any, error: PupilageError) -> None:
    for line in said_problems(error):
        form.add_error(None, line)


def _page(request: HttpRequest, programme_id: UUID, *, status: int = 200, **given: Any) -> HttpResponse:
    now = clock.now()
    settings = read_family_settings(request.actor, programme_id)
    head = read_pack_page(request.actor, programme_id, now=now).head
    context = {
        "head": head,
        "settings": settings,
        "links": list_family_links(request.actor, programme_id, now=now),
        **_forms(request, settings, head),
        **given,
    }
    return render(request, "pupilage/family_page.html", context, status=status)


def _forms(request: HttpRequest, settings: FamilyPageSettings, head: ProgrammeHead) -> dict[str, Any]:
    return {
        "link_form": LinkForm.usual(request.actor.language, head.family),
        "choices_form": ChoicesForm.of(settings.choices, settings.behaviours),
        "media_form": MediaForm(),
    }
