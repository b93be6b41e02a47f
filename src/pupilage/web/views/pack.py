"""The pack for the family: the trainer's words for it, and the button that makes it."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.text import slugify
from django.utils.translation import gettext
from django.views.decorators.http import require_http_methods, require_POST

from pupilage.core.errors import InvalidInput
from pupilage.services.make_pack import make_pack
from pupilage.services.save_handover_words import read_pack_page, save_handover_words
from pupilage.web import clock
from pupilage.web.forms.pack import FamilyWordsForm, PackForm
from pupilage.web.forms.problems import add_problems


@require_http_methods(["GET", "POST"])
def pack(request: HttpRequest, programme_id: UUID) -> HttpResponse:
    """Show the page; on POST make the pack and give it as a file. No transaction is open while it is typeset."""
    now = clock.now()
    form = PackForm(request.POST) if request.method == "POST" else PackForm.usual(request.actor)
    page = read_pack_page(request.actor, programme_id, now=now)
    if request.method == "POST":
        request.actor.require_write()
        if form.is_valid():
            made = make_pack(request.actor, programme_id, form.options(), now=now)
            name = f"{slugify(page.head.dog) or 'pup'}-{form.options().language.value}.pdf"
            return HttpResponse(
                made.pdf,
                content_type="application/pdf",
                headers={"Content-Disposition": f'attachment; filename="{name}"', "Cache-Control": "no-store"},
            )
    words = FamilyWordsForm(initial=page.words.__dict__)
    return render(request, "pupilage/pack.html", {"page": page, "form": form, "words": words})


@require_POST
def pack_words(request: HttpRequest, programme_id: UUID) -> HttpResponse:
    """Write the trainer's words for the family."""
    now = clock.now()
    page = read_pack_page(request.actor, programme_id, now=now)
    request.actor.require_write()
    words = FamilyWordsForm(request.POST)
    if words.is_valid():
        try:
            save_handover_words(request.actor, programme_id, words.words(), now=now)
        except InvalidInput as error:
            add_problems(words, error)
        else:
            messages.success(request, gettext("Written down."))
            return redirect("pack", programme_id=programme_id)
    form = PackForm.usual(request.actor)
    return render(request, "pupilage/pack.html", {"page": page, "form": form, "words": words}, status=422)
