from django.apps import AppConfig


class WebConfig(AppConfig):
    name = "pupilage.web"
    label = "web"
