from django.urls import path

from pupilage.web.sync import views

urlpatterns = [
    path("token/", views.token, name="sync-token"),
    path("push/", views.push, name="sync-push"),
    path("day/", views.day, name="sync-day"),
    path("sessions/<uuid:session_id>/ahead/", views.ahead, name="sync-ahead"),
    path("sessions/<uuid:session_id>/", views.session, name="sync-session"),
]
