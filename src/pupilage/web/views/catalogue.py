"""The catalogue: what can be taught, and what must be prevented."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from pupilage.core.errors import NotFound
from pupilage.services.read_catalogue import list_catalogue_problems, read_catalogue
from pupilage.services.read_programme import find_current_id
from pupilage.web import clock
from pupilage.web.training_words import SCORING_WORDS


@require_GET
def behaviours(request: HttpRequest) -> HttpResponse:
    """List every behaviour."""
    context = {"catalogue": read_catalogue(), "problems": list_catalogue_problems()}
    return render(request, "pupilage/behaviours.html", context)


@require_GET
def behaviour(request: HttpRequest, key: str) -> HttpResponse:
    """Show a behaviour, wanted or unwanted."""
    catalogue = read_catalogue()
    wanted, unwanted = catalogue.find_behaviour(key), catalogue.find_unwanted(key)
    if wanted is not None:
        context = {
            "behaviour": wanted,
            "catalogue": catalogue,
            "scoring": SCORING_WORDS[wanted.scoring],
            "stay": find_current_id(request.actor, now=clock.now()),
        }
        return render(request, "pupilage/behaviour.html", context)
    if unwanted is not None:
        return render(request, "pupilage/unwanted.html", {"behaviour": unwanted, "catalogue": catalogue})
    raise NotFound("“{key}” is not in the catalogue; choose a behaviour from the list.", key=key)
