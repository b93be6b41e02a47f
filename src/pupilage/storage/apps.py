from django.apps import AppConfig


class StorageConfig(AppConfig):
    name = "pupilage.storage"
    label = "storage"
