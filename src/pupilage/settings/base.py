"""What every way of running shares."""

import os
from pathlib import Path

from django.utils.translation import gettext_lazy

PACKAGE = Path(__file__).resolve().parent.parent

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django_htmx",
    "pupilage.storage",
    "pupilage.web",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "pupilage.web.policy.ContentPolicyMiddleware",
    "pupilage.web.phones.SecureCookiesMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "pupilage.web.phones.PairedPhoneMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "pupilage.web.acting.ActorMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "pupilage.web.failures.FailureMiddleware",
]

ROOT_URLCONF = "pupilage.web.urls"
WSGI_APPLICATION = "pupilage.web.wsgi.application"
TRUST_APPLICATION = "pupilage.web.trust_page.trust_application"
"""What makes the application of the second port of `pupilage serve --phone`."""
AUTH_USER_MODEL = "storage.User"
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "today"
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "pupilage.web.acting.page_context",
            ],
            "builtins": ["django.templatetags.i18n", "pupilage.web.templatetags.figures"],
        },
    }
]

USE_TZ = True
TIME_ZONE = "UTC"
USE_I18N = True
LANGUAGE_CODE = "en"
LANGUAGES = [("en", gettext_lazy("English"))]
LOCALE_PATHS = [PACKAGE / "web" / "locale"]

STATIC_URL = "static/"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "pupilage.web.hashed_files.HashedFiles"},
}

SESSION_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_AGE = 60 * 60 * 24 * 60
CSRF_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_HTTPONLY = True
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
PHONE_URL = TRUST_URL = AUTHORITY_FINGERPRINT = ""
"""Where a phone reaches this server, and where it gets the authority to trust; `pupilage serve --phone` says so."""
READER_STARTS_BY_ITSELF = True
SOUND_MODEL = os.environ.get("PUPILAGE_SOUND_MODEL", "")
SOUND_MODEL_CLASSES = os.environ.get("PUPILAGE_SOUND_CLASSES", "")
"""A sound-event model of the user's own (ONNX), and the CSV that names its classes: docs/how-to/recordings.md."""
"""Whether what waits to be read starts the process that reads it."""
DATA_UPLOAD_MAX_MEMORY_SIZE = 2 * 1024 * 1024
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "filters": {"hide-tokens": {"()": "pupilage.web.hidden_tokens.HideTokens"}},
    "handlers": {"terminal": {"class": "logging.StreamHandler", "filters": ["hide-tokens"]}},
    "root": {"handlers": ["terminal"], "level": "WARNING"},
}
