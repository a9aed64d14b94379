"""Django's Redis cache, which takes a lease on the embedded server before it connects.

So signing in works whether or not `launch` runs, and who asks nothing of the cache starts nothing.
"""

from typing import Any

from django.core.cache.backends.redis import RedisCache
from django.utils.functional import cached_property

from teamroom.common.embedded import lease


class EmbeddedCache(RedisCache):
    """The usual cache; OPTIONS["data"] is the installation's data folder."""

    def __init__(self, server: str, params: dict[str, Any]) -> None:
        # Each thread makes one of these from the same settings, so those must stay whole.
        options = dict(params["OPTIONS"])
        self._data = options.pop("data")
        super().__init__(server, {**params, "OPTIONS": options})

    @cached_property
    def _cache(self) -> Any:
        """The connections. Raises CannotServe."""
        lease.take(self._data, "valkey")
        # The property of the class above, whose name Django keeps to itself.
        return RedisCache._cache.func(self)  # type: ignore[attr-defined]
