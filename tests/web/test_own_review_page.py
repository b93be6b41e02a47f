"""The keeper's own look back as a page."""

from dataclasses import replace

from pupilage.core.evaluation.forecast_scores import Told, score
from pupilage.services import read_own_review as reviewing


def test_page_says_what_is_missing_and_is_kept_by_no_cache(keeper_client, programme):
    answer = keeper_client.get("/looking-back/")
    text = answer.content.decode()
    assert (
        "Not enough yet: 0 forecasts with an outcome, where 20 are needed; 0 ended stays, where 5 are needed." in text
    )
    assert "nothing recorded yet" in text
    assert answer["Cache-Control"] == "no-store, private"


def test_scores_stand_beside_the_drawing(keeper_client, programme, monkeypatch):
    told = [Told(0.1, n < 1, str(n % 5)) for n in range(10)] + [Told(0.9, n < 7, str(n % 5)) for n in range(10)]
    real = reviewing.read_own_review
    monkeypatch.setattr(
        "pupilage.web.views.own_review.read_own_review",
        lambda actor, now, most_new_s: replace(real(actor, now=now), scores=score(told), n_stays=5),
    )
    text = keeper_client.get("/looking-back/").content.decode()
    assert "<dd>0.170 (" in text
    assert all(f"<dd>{part}</dd>" in text for part in ("0.020", "0.090", "0.240", "0.000"))
    assert "no fifth of the chances differs" in text
