"""Sweeps that belong to no single app."""

from importlib import import_module

from celery import shared_task
from django.conf import settings


@shared_task
def clear_expired_sessions() -> None:
    """Delete the sessions whose time is over; nobody else does."""
    import_module(settings.SESSION_ENGINE).SessionStore.clear_expired()
