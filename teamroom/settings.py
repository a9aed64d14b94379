"""Every setting, and every read of the environment, in one file.

Without any environment this is one machine's own installation: embedded database and broker, data in `var/`.
With DATABASE_URL it is a server: what a server must decide has no default, and the process says what is missing.
"""

import os
from pathlib import Path
from typing import Any

import pghistory
from csp.constants import NONCE, NONE, SELF, UNSAFE_INLINE
from django.core.exceptions import ImproperlyConfigured

from teamroom.common.addresses import database_from_url, embedded_database
from teamroom.common.embedded.places import broker_url
from teamroom.common.secret import kept_secret

BASE_DIR = Path(__file__).resolve().parent.parent

# The environment.
DATA_DIR = Path(os.environ.get("TEAMROOM_DATA") or BASE_DIR / "var").resolve()
DATABASE_URL = os.environ.get("DATABASE_URL", "")
REDIS_URL = os.environ.get("REDIS_URL", "")
ON_SERVERS = bool(DATABASE_URL)
# HTTPS=0 is for trying a server out, before anybody's passphrase crosses a network.
HTTPS = ON_SERVERS and os.environ.get("HTTPS") != "0"
DEBUG = os.environ.get("DEBUG", "") == "1"
TIME_ZONE = os.environ.get("TIME_ZONE", "UTC")
POOL_MAX = int(os.environ.get("DATABASE_POOL_MAX", "10"))
STATIC_ROOT = Path(os.environ.get("STATIC_ROOT") or DATA_DIR / "static")
SECRET_KEY = os.environ.get("SECRET_KEY", "")
ALLOWED_HOSTS = os.environ.get("ALLOWED_HOSTS", "").split()
# Only a proxy in front may set this header, or anybody could pretend to have come by HTTPS.
BEHIND_PROXY = os.environ.get("BEHIND_PROXY", "") == "1"

if ON_SERVERS:
    if missing := [name for name in ("SECRET_KEY", "ALLOWED_HOSTS", "REDIS_URL") if not os.environ.get(name)]:
        raise ImproperlyConfigured(
            f"DATABASE_URL is set, so this is a server: set {' and '.join(missing)} too (README.md, 'On servers')."
        )
else:
    try:
        SECRET_KEY = SECRET_KEY or kept_secret(DATA_DIR / "secret-key")
    except OSError as error:
        raise ImproperlyConfigured(
            f"The data folder {DATA_DIR} cannot be used ({error.strerror}): make it writable, or set TEAMROOM_DATA to "
            "a folder that you may write to."
        ) from error
    ALLOWED_HOSTS = ALLOWED_HOSTS or ["localhost", "127.0.0.1", "[::1]"]

INSTALLED_APPS = [
    *(f"django.contrib.{app}" for app in ["auth", "contenttypes", "sessions", "messages", "staticfiles", "postgres"]),
    "django_htmx",
    "csp",
    "pgtrigger",
    "pghistory",
    "teamroom",
    "teamroom.dates",
    "teamroom.members",
    "scheduling",
    "curriculum",
]

SECURE_SSL_REDIRECT = SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
SECURE_REDIRECT_EXEMPT = ["^health/$"]
SECURE_HSTS_SECONDS = 31_536_000 if HTTPS else 0
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if BEHIND_PROXY else None
# Whether all of a domain is served by HTTPS is for its owner to say.
SILENCED_SYSTEM_CHECKS = ["security.W005", "security.W021"]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "csp.middleware.CSPMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "pghistory.middleware.HistoryMiddleware",
]

ROOT_URLCONF = "teamroom.urls"
WSGI_APPLICATION = "teamroom.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "csp.context_processors.nonce",
            ]
        },
    }
]

# Neither address is looked up here: the embedded engine starts its server when a connection is first asked for.
DATABASES: dict[str, dict[str, Any]] = {
    "default": database_from_url(DATABASE_URL, pool_max=POOL_MAX)
    if ON_SERVERS
    else embedded_database(DATA_DIR, pool_max=POOL_MAX)
}
# Who did something stands in the record itself, so that reading a trail joins nothing.
PGHISTORY_CONTEXT_FIELD = pghistory.ContextJSONField()
PGHISTORY_FOREIGN_KEY_FIELD = pghistory.ForeignKey(related_name="+", related_query_name="+")
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
REDIS_URL = REDIS_URL or broker_url(DATA_DIR)
CELERY_BROKER_URL = REDIS_URL.replace("unix://", "redis+socket://", 1)
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
# A page that nudges the background work never waits for a broker that is away.
CELERY_BROKER_TRANSPORT_OPTIONS = {"socket_connect_timeout": 1, "max_retries": 0, "interval_start": 0}
CELERY_TASK_IGNORE_RESULT = True
CELERY_TIMEZONE = TIME_ZONE

AUTH_USER_MODEL = "members.Member"
LOGIN_URL = "members:sign-in"
LOGIN_REDIRECT_URL = "/"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 12}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]

# What is too large for any file we take is thrown away as it comes.
FILE_UPLOAD_HANDLERS = [
    "teamroom.common.uploads.LimitedUpload",
    "django.core.files.uploadhandler.MemoryFileUploadHandler",
    "django.core.files.uploadhandler.TemporaryFileUploadHandler",
]

# Faults go to the process's own log, which the launch keeps in a file and a container prints.
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"console": {"class": "logging.StreamHandler"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
}

LANGUAGE_CODE = "en-us"
USE_I18N = False
USE_TZ = True

STATIC_URL = "static/"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        **dict.fromkeys(["default-src", "style-src", "base-uri", "form-action"], [SELF]),
        **dict.fromkeys(["object-src", "frame-ancestors"], [NONE]),
        "script-src": [SELF, NONCE],
        # A block's place on the week is a style attribute: its minutes are data and no stylesheet can know them.
        "style-src-attr": [UNSAFE_INLINE],
        "img-src": [SELF, "data:"],
    },
}
