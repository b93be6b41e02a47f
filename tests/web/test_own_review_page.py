"""The keeper's own look back as a page."""


def test_page_says_what_is_missing_and_is_kept_by_no_cache(keeper_client, programme):
    answer = keeper_client.get("/looking-back/")
    text = answer.content.decode()
    assert "Not enough yet: 0 of 20 forecasts with an outcome, 0 of 5 ended stays." in text
    assert "nothing recorded yet" in text
    assert answer["Cache-Control"] == "no-store, private"
