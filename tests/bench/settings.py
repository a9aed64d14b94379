"""The settings of a running installation, with one view more: the bare write an edit is held against."""

from teamroom.settings import *  # noqa: F403 - the settings of the project, all of them
from teamroom.settings import DATABASES, MIDDLEWARE

ROOT_URLCONF = "tests.bench.urls"
ALLOWED_HOSTS = ["127.0.0.1"]
MIDDLEWARE = [name for name in MIDDLEWARE if "whitenoise" not in name]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.InMemoryStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
# A commit waits for the disk, as it would where it matters; otherwise both sides look too good.
DATABASES["default"]["EMBEDDED"]["durable"] = True
