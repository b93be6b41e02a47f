"""What a request needs to know about phones: whether its phone is still paired, and how safe its way is."""

from collections.abc import Callable
from uuid import UUID

from django.contrib.auth import logout
from django.http import HttpRequest, HttpResponse

from pupilage.services.pair_phone import note_phone_seen
from pupilage.web import clock

PHONE_KEY = "phone"
"""Where a session keeps the id of its paired phone."""

THIS_MACHINE = {"localhost", "127.0.0.1", "[::1]", "testserver"}


class SecureCookiesMiddleware:
    """Marks every cookie that is set over HTTPS as secure.

    The same server answers the laptop itself over plain HTTP on localhost, where such cookies would not travel.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if request.is_secure():
            for cookie in response.cookies.values():
                cookie["secure"] = True
        return response


class PairedPhoneMiddleware:
    """Signs a phone out whose pairing was revoked, before anything else looks at who asks."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        phone = request.session.get(PHONE_KEY)
        if (
            phone
            and request.user.is_authenticated
            and not note_phone_seen(UUID(phone), request.user.pk, now=clock.now())
        ):
            logout(request)
        return self.get_response(request)


def is_plain_way(request: HttpRequest) -> bool:
    """Return whether a browser takes this page for insecure: plain HTTP from another machine."""
    return not request.is_secure() and request.get_host().rsplit(":", 1)[0] not in THIS_MACHINE


def guess_phone_name(user_agent: str) -> str:
    """Return what kind of machine a browser says it runs on, to be told apart in a list."""
    for word, name in (("iPhone", "iPhone"), ("iPad", "iPad"), ("Android", "Android"), ("Mobile", "Phone")):
        if word in user_agent:
            return name
    return "Browser"
