"""Every setting, and every read of the environment, in one file.

Without any environment this is one machine's own installation: embedded database and broker, data in `var/`.
With DATABASE_URL it is a server: what a server must decide has no default, and the process says what is missing.
"""

import os
from pathlib import Path
from typing import Any

from csp.constants import NONCE, SELF, UNSAFE_INLINE
from django.core.exceptions import ImproperlyConfigured

from teamroom.common.addresses import database_from_url
from teamroom.common.embedded.places import broker_url
from teamroom.common.secret import kept_secret

BASE_DIR = Path(__file__).resolve().parent.parent

# The environment.
DATA_DIR = Path(os.environ.get("TEAMROOM_DATA") or BASE_DIR / "var").resolve()
DATABASE_URL = os.environ.get("DATABASE_URL", "")
REDIS_URL = os.environ.get("REDIS_URL", "")
ON_SERVERS = bool(DATABASE_URL)
DEBUG = os.environ.get("DEBUG", "") == "1"
TIME_ZONE = os.environ.get("TIME_ZONE", "UTC")
POOL_MAX = int(os.environ.get("DATABASE_POOL_MAX", "10"))
STATIC_ROOT = Path(os.environ.get("STATIC_ROOT") or DATA_DIR / "static")
SECRET_KEY = os.environ.get("SECRET_KEY", "")
ALLOWED_HOSTS = os.environ.get("ALLOWED_HOSTS", "").split()
# Only a proxy in front may set this header, or anybody could pretend to have come by HTTPS.
BEHIND_PROXY = os.environ.get("BEHIND_PROXY", "") == "1"

if ON_SERVERS:
    missing = [name for name in ("SECRET_KEY", "ALLOWED_HOSTS", "REDIS_URL") if not os.environ.get(name)]
    if missing:
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
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.contrib.postgres",
    "django_htmx",
    "csp",
    "teamroom",
    "teamroom.dates",
    "teamroom.members",
    "scheduling",
    "curriculum",
]

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
]

ROOT_URLCONF = "teamroom.urls"
ASGI_APPLICATION = "teamroom.asgi.application"
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
            ],
        },
    },
]

# Neither address is looked up here: the embedded engine starts its server when a connection is first asked for.
DATABASES: dict[str, dict[str, Any]] = {
    "default": database_from_url(DATABASE_URL, pool_max=POOL_MAX)
    if ON_SERVERS
    else {
        "ENGINE": "teamroom.common.embedded.engine",
        "NAME": "teamroom",
        "USER": "teamroom",
        "OPTIONS": {"pool": {"min_size": 0, "max_size": POOL_MAX}},
        "EMBEDDED": {"data": DATA_DIR, "durable": True},
    }
}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

REDIS_URL = REDIS_URL or broker_url(DATA_DIR)
CELERY_BROKER_URL = REDIS_URL.replace("unix://", "redis+socket://", 1)
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
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
        "default-src": [SELF],
        "script-src": [SELF, NONCE],
        "style-src": [SELF],
        # A block's place on the week is a style attribute: its minutes are data and no stylesheet can know them.
        "style-src-attr": [UNSAFE_INLINE],
        "img-src": [SELF, "data:"],
        "object-src": ["'none'"],
        "base-uri": [SELF],
        "form-action": [SELF],
        "frame-ancestors": ["'none'"],
    },
}
