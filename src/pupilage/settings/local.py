"""One trainer on one laptop: SQLite in the data folder, served on localhost."""

from pupilage.settings.base import *  # noqa: F403
from pupilage.settings.environment import data_folder, database_settings, kept_secret, listed

SECRET_KEY = kept_secret()
DEBUG = False
ALLOWED_HOSTS = ["localhost", "127.0.0.1", "[::1]", *listed("PUPILAGE_HOSTS")]
DATABASES = {"default": database_settings()}
STATIC_ROOT = data_folder() / "static"
# localhost is a secure context, but cookies marked secure do not travel over plain HTTP in every browser
SESSION_COOKIE_SECURE = False
CSRF_COOKIE_SECURE = False
