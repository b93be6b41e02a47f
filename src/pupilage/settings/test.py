"""Tests: SQLite unless DATABASE_URL names PostgreSQL; no manifest, so that no page needs collected files."""

import os

from pupilage.settings.base import *  # noqa: F403
from pupilage.settings.environment import postgres_settings, sqlite_settings

SECRET_KEY = "only for tests"  # noqa: S105
DEBUG = False
ALLOWED_HOSTS = ["testserver", "localhost", "127.0.0.1"]
_url = os.environ.get("DATABASE_URL", "")
DATABASES = {"default": postgres_settings(_url) if _url else sqlite_settings(":memory:")}
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
STATIC_ROOT = None
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
SESSION_COOKIE_SECURE = False
CSRF_COOKIE_SECURE = False
READER_STARTS_BY_ITSELF = False
