"""The catalogue's pages, with the trainer's own file over ours."""

import os
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse

pytestmark = pytest.mark.django_db


def test_every_behaviour_of_the_list_has_its_page(keeper_client: Client) -> None:
    catalogue = keeper_client.get(reverse("behaviours")).context["catalogue"]
    for key in (*catalogue.behaviours, *catalogue.unwanted):
        assert keeper_client.get(reverse("behaviour", args=[key])).status_code == 200, key


def test_unknown_behaviour_is_404_with_a_sentence(keeper_client: Client) -> None:
    answer = keeper_client.get(reverse("behaviour", args=["no-such-thing"]))
    assert answer.status_code == 404
    assert "is not in the catalogue; choose a behaviour from the list." in answer.content.decode()


def test_faulty_file_of_the_trainer_is_named_and_ours_is_shown(keeper_client: Client, db: None) -> None:
    folder = Path(os.environ["PUPILAGE_DATA"]) / "catalogue"
    folder.mkdir()
    (folder / "mine.toml").write_text("this is no TOML", encoding="utf-8")
    text = keeper_client.get(reverse("behaviours")).content.decode()
    assert "Your own catalogue files are not used until this is put right:" in text
    assert "mine.toml" in text
    assert "Sits on cue" in text
