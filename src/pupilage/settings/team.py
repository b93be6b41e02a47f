"""A team's server: PostgreSQL, HTTPS in front."""

from pupilage.settings.base import *  # noqa: F403
from pupilage.settings.environment import data_folder, listed, postgres_settings, required

SECRET_KEY = required("PUPILAGE_SECRET_KEY")
DEBUG = False
ALLOWED_HOSTS = listed("PUPILAGE_HOSTS")
CSRF_TRUSTED_ORIGINS = [f"https://{host}" for host in ALLOWED_HOSTS]
DATABASES = {"default": postgres_settings(required("DATABASE_URL"))}
STATIC_ROOT = data_folder() / "static"
SESSION_COOKIE_SECURE = True
CSRF_COOKIE_SECURE = True
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
SECURE_HSTS_SECONDS = 60 * 60 * 24 * 30
