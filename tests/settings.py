"""The settings of the tests: those of the project, quicker, with a data folder that lasts for one run.

Nothing is started here. The first test that asks for the database starts it (see teamroom.common.embedded).
"""

import os
import tempfile
from pathlib import Path

# Whoever reads this file first names the folder; the other processes of one run inherit the name.
os.environ.setdefault("TEAMROOM_DATA", str(Path(tempfile.gettempdir()) / f"teamroom-tests-{os.getuid()}-{os.getpid()}"))
os.environ.setdefault("SECRET_KEY", "not a secret, only for tests")
# So that its addresses are there to be tested; nobody answers at this one.
os.environ |= {
    "OIDC_NAME": "the district",
    "OIDC_SERVER_URL": "http://127.0.0.1:9/district",
    "OIDC_CLIENT_ID": "teamroom",
    "OIDC_CLIENT_SECRET": "only for tests",
}

from teamroom.settings import *  # noqa: E402, F403 - the environment above must be set before the settings read it
from teamroom.settings import DATABASES, MIDDLEWARE  # noqa: E402 - as above

# One hash of the usual kind takes a fifth of a second.
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
ALLOWED_HOSTS = ["*"]

STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.InMemoryStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
MIDDLEWARE = [name for name in MIDDLEWARE if "whitenoise" not in name]
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
# Counters of attempts in each process's own memory, emptied between tests: in the one Valkey of a run, tests at the
# same time would count for each other. That it works with Valkey is tested on a server of its own.
CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}

# A pool keeps connections open between tests and would hinder dropping a test's database.
DATABASES["default"]["OPTIONS"].pop("pool", None)
if "EMBEDDED" in DATABASES["default"]:
    DATABASES["default"]["EMBEDDED"]["durable"] = False
