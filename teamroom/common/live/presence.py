"""Who is looking at what just now: in Redis, for a minute, and nowhere else.

It is cosmetic. While Redis is away nobody is seen, and nothing else is different.
"""

import json
import logging
import time
from collections.abc import Callable
from functools import cache
from typing import Any, NamedTuple, TypeVar

import redis
from django.conf import settings

LIFE = 45
"""Seconds after which somebody who says nothing more is no longer seen: a page says so every 20."""
AWAY = 15
"""Seconds for which nothing is asked of a Redis that did not answer."""
PATIENCE = 0.5

Answer = TypeVar("Answer")
log = logging.getLogger(__name__)
_away_until = 0.0


class Present(NamedTuple):
    """Somebody at a place, on a day of it or on none."""

    member: int
    name: str
    day: str


def here(place: str, present: Present) -> list[Present]:
    """Say that somebody is at a place, and who else is, by name."""

    def ask(server: redis.Redis) -> list[Present]:
        key, now = _key(place), time.time()
        with server.pipeline() as pipe:
            pipe.hset(key, str(present.member), json.dumps([present.name, present.day, now]))
            pipe.expire(key, LIFE)
            pipe.hgetall(key)
            held: dict[str, str] = pipe.execute()[-1]
        told = [(int(member), *json.loads(value)) for member, value in held.items()]
        others = [Present(member, name, day) for member, name, day, at in told if now - at < LIFE]
        return sorted((one for one in others if one.member != present.member), key=lambda one: one.name.casefold())

    return _asked(ask, [])


def gone(place: str, member: int) -> None:
    """Say that somebody has left a place."""

    def ask(server: redis.Redis) -> None:
        server.hdel(_key(place), str(member))

    _asked(ask, None)


def _key(place: str) -> str:
    return f"teamroom:here:{place}"


@cache
def _server() -> redis.Redis:
    return redis.Redis.from_url(
        settings.REDIS_URL, decode_responses=True, socket_timeout=PATIENCE, socket_connect_timeout=PATIENCE
    )


def _asked(ask: Callable[[Any], Answer], without: Answer) -> Answer:
    """What Redis answers, or what holds without it."""
    global _away_until
    if time.monotonic() < _away_until:
        return without
    try:
        return ask(_server())
    except redis.RedisError as away:
        _away_until = time.monotonic() + AWAY
        log.info("Nobody is seen for %s seconds: %s", AWAY, away)
        return without
