"""Signing in: by a one-time link made on the machine itself, or by name and password on a team's server."""

from django.contrib.auth import get_user_model, login, logout
from django.contrib.auth.views import LoginView
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from pupilage.core.errors import NotFound
from pupilage.services.sign_in import redeem_sign_in_link
from pupilage.web import clock

LOCAL_ADDRESSES = {"127.0.0.1", "::1"}


class SignIn(LoginView):
    """Name and password."""

    template_name = "pupilage/sign_in.html"


@never_cache
@require_http_methods(["GET", "POST"])
def by_link(request: HttpRequest, token: str) -> HttpResponse:
    """Sign in by a one-time link, on this machine only.

    A GET signs in at once: the link is opened from the terminal on the same machine, and works once.
    """
    if request.META.get("REMOTE_ADDR") not in LOCAL_ADDRESSES:
        return render(request, "pupilage/link_elsewhere.html", status=403)
    try:
        user_id = redeem_sign_in_link(token, now=clock.now())
    except NotFound:
        if request.user.is_authenticated:
            return HttpResponseRedirect(reverse("today"))
        raise
    user = get_user_model().objects.get(pk=user_id)
    login(request, user, backend="django.contrib.auth.backends.ModelBackend")
    return HttpResponseRedirect(reverse("today"))


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    """Sign out."""
    logout(request)
    return HttpResponseRedirect(reverse("sign-in"))
