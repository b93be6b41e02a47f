"""No link that opens something stands in the log."""

import io
import logging

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse

from pupilage.services.share_family_page import NewLink, make_family_link
from pupilage.web.hidden_tokens import HideTokens


@pytest.fixture
def logged():
    """What a handler with the filter of the settings writes of Django's warnings."""
    out = io.StringIO()
    handler = logging.StreamHandler(out)
    handler.addFilter(HideTokens())
    logger = logging.getLogger("django.request")
    logger.addHandler(handler)
    yield out
    logger.removeHandler(handler)


def test_the_handler_of_the_settings_has_the_filter():
    assert settings.LOGGING["handlers"]["terminal"]["filters"] == ["hide-tokens"]
    assert settings.LOGGING["filters"]["hide-tokens"]["()"] == "pupilage.web.hidden_tokens.HideTokens"


def test_refused_writing_leaves_no_token_in_the_log(logged, actor, programme, now):
    token = make_family_link(actor, programme, NewLink("a", may_write=True), now=now)
    assert Client().post(reverse("family-log", args=[token]), {"kind": "moon"}).status_code == 422
    assert Client().get(f"/calendar/{token}.ics").status_code == 404
    assert "/for/…/write/" in logged.getvalue()
    assert token not in logged.getvalue()


def test_other_addresses_stay_as_they_are():
    record = logging.LogRecord("x", logging.WARNING, "", 0, "Not Found: %s (%d)", ("/stays/12/", 404), None)
    assert HideTokens().filter(record)
    assert record.getMessage() == "Not Found: /stays/12/ (404)"
