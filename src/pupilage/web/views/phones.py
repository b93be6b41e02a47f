"""Phones: pairing one with this server, the list of those paired, and signing one out."""

from uuid import UUID

import segno
from django.conf import settings
from django.contrib import messages
from django.contrib.auth import get_user_model, login
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from pupilage.core.errors import NotFound
from pupilage.services.pair_phone import (
    get_phone_owner,
    list_phones,
    make_pairing_code,
    pair_phone,
    revoke_phone,
)
from pupilage.web import clock
from pupilage.web.phones import PHONE_KEY, guess_phone_name, is_plain_way
from pupilage.web.words import said


@require_GET
@never_cache
def phones(request: HttpRequest) -> HttpResponse:
    """Show the paired phones and how to add one."""
    return render(request, "pupilage/phones.html", _context(request))


@require_POST
@never_cache
def phone_code(request: HttpRequest) -> HttpResponse:
    """Make a code and show it, once, with its picture."""
    made = make_pairing_code(request.actor, now=clock.now())
    base = settings.PHONE_URL or request.build_absolute_uri("/").rstrip("/")
    link = base + reverse("pair-link", args=[made.code])
    shown = {"made": made, "link": link, "picture": qr_picture(link)}
    return render(request, "pupilage/phones.html", {**_context(request), **shown})


@require_POST
def phone_revoke(request: HttpRequest, phone_id: UUID) -> HttpResponse:
    """Sign a phone out for good."""
    revoke_phone(request.actor, phone_id, now=clock.now())
    messages.success(request, gettext("That phone is signed out."))
    return redirect("phones")


@login_not_required
@never_cache
@require_http_methods(["GET", "POST"])
def pair(request: HttpRequest, token: str = "") -> HttpResponse:
    """Ask whether to pair this phone; on POST use the code up and sign the phone in.

    A GET changes nothing: a camera or a messenger that looks at the link must not use it up.
    """
    code = request.POST.get("code", "")[:40] if request.method == "POST" else token[:40]
    if request.method == "GET":
        return _pair_page(request, code)
    try:
        phone = pair_phone(
            code,
            request.POST.get("name", "") or guess_phone_name(request.headers.get("User-Agent", "")),
            now=clock.now(),
        )
    except NotFound as error:
        return _pair_page(request, "", refused=said(error.sentence))
    user = get_user_model().objects.get(pk=get_phone_owner(phone.id))
    login(request, user, backend="django.contrib.auth.backends.ModelBackend")
    request.session[PHONE_KEY] = str(phone.id)
    return HttpResponseRedirect(reverse("today"))


def qr_picture(link: str) -> str:
    """Return a link's QR code (ISO/IEC 18004) as the address of a picture."""
    return str(segno.make(link, error="m", micro=False).svg_data_uri(scale=6, border=4, dark="#000", light="#fff"))


def _pair_page(request: HttpRequest, code: str, refused: str = "") -> HttpResponse:
    context = {
        "code": code,
        "refused": refused,
        "plain_way": is_plain_way(request),
        "name": guess_phone_name(request.headers.get("User-Agent", "")),
    }
    return render(request, "pupilage/pair.html", context, status=404 if refused else 200)


def _context(request: HttpRequest) -> dict[str, object]:
    trust = settings.TRUST_URL
    return {
        "phones": list_phones(request.actor),
        "phone_url": settings.PHONE_URL,
        "trust_url": trust,
        "trust_picture": qr_picture(trust) if trust else "",
        "fingerprint": settings.AUTHORITY_FINGERPRINT,
        "served_plainly": settings.PHONE_URL.startswith("http://"),
        "this_phone": request.session.get(PHONE_KEY, ""),
        "plain_way": is_plain_way(request),
    }
