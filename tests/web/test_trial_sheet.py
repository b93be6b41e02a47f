"""Every try of a stay as a spreadsheet, from the foot of its page."""

import csv
import io

import pytest
from django.urls import reverse

pytestmark = pytest.mark.django_db


def test_stays_page_leads_to_the_sheet_with_place_and_handler(keeper_client, actor, programme, new_session):
    new_session(actor, programme, "sit", "word", ["met", "missed"], place="Müllers Hof", handler="Ida")
    address = reverse("trial-sheet", args=[programme])
    assert f'href="{address}"' in keeper_client.get(reverse("programme", args=[programme])).content.decode()
    answer = keeper_client.get(address)
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    assert 'filename="tries.csv"' in answer["Content-Disposition"]
    rows = list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"), newline="")))
    assert [(row["outcome"], row["place"], row["handler"]) for row in rows] == [
        ("met", "Müllers Hof", "Ida"),
        ("missed", "Müllers Hof", "Ida"),
    ]


def test_sheet_is_read_only_and_of_a_stay_that_is_there(keeper_client, programme, actor):
    assert keeper_client.post(reverse("trial-sheet", args=[programme])).status_code == 405
    assert keeper_client.get(reverse("trial-sheet", args=[actor.workspace_id])).status_code == 404
