"""Sweeps of people: letters that are due, and what is to be forgotten."""

from celery import shared_task

from teamroom.members.services import accounts, letters


@shared_task
def send_letters() -> None:
    """Send what is due; the beat table's clock and every new letter ask for it."""
    letters.send_due()


@shared_task
def forget_letters() -> None:
    """Remove what was sent long ago."""
    letters.forget_old()


@shared_task
def forget_sessions() -> None:
    """Remove what is known of browsers whose sessions are over."""
    accounts.forget_sessions()
