"""The cache of one machine's own installation."""

from concurrent.futures import ThreadPoolExecutor
from typing import Any

from django.core.cache import caches

from teamroom.common.embedded.places import broker_url


def write_and_read(number: int) -> object:
    cache = caches["default"]
    cache.set(f"thread-{number}", number)
    return cache.get(f"thread-{number}")


def test_every_thread_gets_a_cache_of_its_own(settings: Any) -> None:
    settings.CACHES = {
        "default": {
            "BACKEND": "teamroom.common.embedded.cache.EmbeddedCache",
            "LOCATION": broker_url(settings.DATA_DIR),
            "OPTIONS": {"data": settings.DATA_DIR},
        }
    }
    with ThreadPoolExecutor(max_workers=1) as one, ThreadPoolExecutor(max_workers=1) as other:
        assert one.submit(write_and_read, 1).result() == 1
        assert other.submit(write_and_read, 2).result() == 2
