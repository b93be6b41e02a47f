"""One trainer on one laptop: SQLite in the data folder, served on localhost."""

import os

from pupilage.settings.base import *  # noqa: F403
from pupilage.settings.environment import data_folder, database_settings, kept_secret, listed

SECRET_KEY = kept_secret()
DEBUG = False
ALLOWED_HOSTS = ["localhost", "127.0.0.1", "[::1]", *listed("PUPILAGE_HOSTS")]
DATABASES = {"default": database_settings()}
STATIC_ROOT = data_folder() / "static"
PHONE_URL = os.environ.get("PUPILAGE_PHONE_URL", "")
TRUST_URL = os.environ.get("PUPILAGE_TRUST_URL", "")
AUTHORITY_FINGERPRINT = os.environ.get("PUPILAGE_AUTHORITY_FINGERPRINT", "")
# HTTPS on the local network has no HSTS: browsers would then refuse this address over HTTP, and it may be another's
# soon. Over HTTPS cookies are marked secure one by one (web/phones.py);
# localhost is a secure context, but cookies marked secure do not travel over plain HTTP in every browser
SESSION_COOKIE_SECURE = False
CSRF_COOKIE_SECURE = False
