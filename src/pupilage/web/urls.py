"""Every page. All but those in OPEN need a signed-in person (LoginRequiredMiddleware)."""

from django.contrib.auth.decorators import login_not_required
from django.urls import include, path

from pupilage.web.views import (
    care,
    catalogue,
    cautions,
    dog,
    exposures,
    food,
    goals,
    incident,
    intake,
    live,
    outings,
    plan,
    preferences,
    programme,
    session,
    session_card,
    shortcuts,
    sign_in,
    stay,
    thresholds,
    today,
)

OPEN = ("sign-in", "sign-in-link")
"""Names of the pages that nobody needs to be signed in for; tests/web/test_access.py walks the resolver."""

urlpatterns = [
    path("", today.today, name="today"),
    path("start/", intake.intake, name="start"),
    path("train/", shortcuts.train, name="train"),
    path("log/", shortcuts.log, name="log"),
    path("goals/", shortcuts.goals, name="goals-now"),
    path("pup/", shortcuts.pup, name="pup"),
    path("stays/", programme.programmes, name="programmes"),
    path("stays/<uuid:programme_id>/", programme.programme, name="programme"),
    path("stays/<uuid:programme_id>/goals/", goals.goals, name="goals"),
    path("stays/<uuid:programme_id>/dates/", stay.stay, name="stay-dates"),
    path("stays/<uuid:programme_id>/plan/", plan.plan, name="plan"),
    path("stays/<uuid:programme_id>/plan/what-if/", plan.what_if, name="plan-what-if"),
    path("stays/<uuid:programme_id>/thresholds/<slug:key>/", thresholds.thresholds, name="thresholds"),
    path("stays/<uuid:programme_id>/exposures/", exposures.exposures, name="exposures"),
    path("stays/<uuid:programme_id>/exposures/<slug:item>/", exposures.exposure, name="exposure"),
    path("stays/<uuid:programme_id>/exposures/<slug:item>/met/", exposures.met, name="exposure-log"),
    path(
        "stays/<uuid:programme_id>/exposure/<uuid:event_id>/take-back/", exposures.take_back, name="exposure-withdraw"
    ),
    path("stays/<uuid:programme_id>/vet-word/", exposures.vet_word, name="vet-word"),
    path("stays/<uuid:programme_id>/session/", session_card.session_card, name="session-card"),
    path("sessions/<uuid:session_id>/", session.session, name="session"),
    path("sessions/<uuid:session_id>/correct/", session.correct, name="session-correct"),
    path("sessions/<uuid:session_id>/live/", live.live, name="live"),
    path("dogs/<uuid:dog_id>/", dog.dog, name="dog"),
    path("dogs/<uuid:dog_id>/change/", dog.change, name="dog-change"),
    path("dogs/<uuid:dog_id>/weight/", dog.weight, name="weight"),
    path("dogs/<uuid:dog_id>/ration/", food.ration, name="ration"),
    path("dogs/<uuid:dog_id>/ration/choose/", food.choose, name="ration-choose"),
    path("dogs/<uuid:dog_id>/ration/move/", food.move, name="ration-move"),
    path("dogs/<uuid:dog_id>/likes/", food.likes, name="likes"),
    path("dogs/<uuid:dog_id>/outings/", outings.outings, name="outings-read"),
    path("dogs/<uuid:dog_id>/log/", care.care, name="care"),
    path("dogs/<uuid:dog_id>/log/outing/", care.outing, name="outing"),
    path("dogs/<uuid:dog_id>/log/add/", care.add, name="care-log"),
    path("dogs/<uuid:dog_id>/log/<uuid:event_id>/take-back/", care.take_back, name="care-withdraw"),
    path("dogs/<uuid:dog_id>/incident/", incident.incident, name="incident"),
    path("dogs/<uuid:dog_id>/incidents/", incident.incidents, name="incidents"),
    path("incidents/<uuid:incident_id>/take-back/", incident.take_back, name="incident-take-back"),
    path("behaviours/", catalogue.behaviours, name="behaviours"),
    path("behaviours/<slug:key>/", catalogue.behaviour, name="behaviour"),
    path("settings/", preferences.preferences, name="settings"),
    path("settings/reinforcers/", preferences.reinforcer, name="reinforcer"),
    path("eaten/", food.eaten, name="eaten"),
    path("cautions/", cautions.cautions, name="cautions"),
    path("sync/", include("pupilage.web.sync.urls")),
    path("sign-in/", sign_in.SignIn.as_view(), name="sign-in"),
    path("sign-in/<str:token>/", sign_in.by_link, name="sign-in-link"),
    path("sign-out/", sign_in.sign_out, name="sign-out"),
]

for pattern in urlpatterns:
    if getattr(pattern, "name", None) in OPEN:
        pattern.callback = login_not_required(pattern.callback)
