"""Sending letters: by the mail server, or into the data folder where there is none."""

import os
import smtplib
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

from django.conf import settings
from django.core.mail import EmailMultiAlternatives, get_connection
from django.core.mail.backends.base import BaseEmailBackend
from django.db import transaction
from django.utils import timezone

from teamroom.members.models import Letter

WAITS = [timedelta(minutes=minutes) for minutes in (1, 5, 15, 60, 3 * 60, 6 * 60, 12 * 60, 24 * 60)]
"""How long to wait after each try that failed; after the last the letter is given up."""
KEPT = timedelta(days=30)
"""How long a sent letter's row, or its file in the data folder, is kept."""


def mail_folder() -> Path:
    """Where letters go that no mail server takes."""
    return Path(settings.DATA_DIR) / "mail"


def send_due() -> int:
    """Send every letter that is due; how many were sent.

    Each is held by its row while it is sent, so that two sweeps never send it twice, and a sweep that dies sends it
    again: at least once.
    """
    sent = 0
    put, close = _by_server() if settings.EMAIL_URL else (_into_folder, None)
    try:
        while (done := _send_one(put)) is not None:
            sent += done
    finally:
        if close:
            close()
    return sent


@transaction.atomic
def try_again() -> int:
    """Make every letter due that waits or was given up; how many."""
    return Letter.objects.filter(sent_at=None).update(next_try_at=timezone.now(), tries=0)


@transaction.atomic
def forget_old() -> None:
    """Remove the rows and files of letters that were sent long ago; files may hold ways in."""
    long_ago = timezone.now() - KEPT
    Letter.objects.filter(sent_at__lt=long_ago).delete()
    for path in mail_folder().glob("*.eml"):
        if path.stat().st_mtime < long_ago.timestamp():
            path.unlink(missing_ok=True)


def _send_one(put: Callable[[Letter], None]) -> bool | None:
    """Send the letter that has been due longest: whether it went out; None where none is due."""
    with transaction.atomic():
        due = Letter.objects.filter(sent_at=None, tries__lte=len(WAITS), next_try_at__lte=timezone.now())
        letter = due.order_by("next_try_at", "pk").select_for_update(skip_locked=True).first()
        if letter is None:
            return None
        letter.tries += 1
        try:
            put(letter)
        except (OSError, smtplib.SMTPException) as fault:
            letter.fault = sentence_of(fault)[:500]
            last = _is_final(fault) or letter.tries > len(WAITS)
            letter.tries = len(WAITS) + 1 if last else letter.tries
            letter.next_try_at = timezone.now() + (timedelta() if last else WAITS[letter.tries - 1])
        else:
            letter.sent_at = timezone.now()
            letter.text = letter.html = letter.fault = ""
        letter.save()
        return letter.sent_at is not None


def message_of(letter: Letter, connection: BaseEmailBackend | None = None) -> EmailMultiAlternatives:
    message = EmailMultiAlternatives(letter.subject, letter.text, to=[letter.to], connection=connection)
    if letter.html:
        message.attach_alternative(letter.html, "text/html")
    return message


def _by_server() -> tuple[Callable[[Letter], None], Callable[[], None]]:
    """How to hand a letter to the mail server, over one connection, and how to hang up."""
    connection = get_connection("django.core.mail.backends.smtp.EmailBackend")

    def put(letter: Letter) -> None:
        try:
            connection.open()
            message_of(letter, connection).send()
        except (OSError, smtplib.SMTPException):
            # The next letter begins with a connection that knows nothing of this one.
            connection.close()
            raise

    return put, connection.close


def _into_folder(letter: Letter) -> None:
    folder = mail_folder()
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    path = folder / f"{letter.pk:08}.eml"
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as file:
        file.write(message_of(letter).message().as_bytes())


def sentence_of(fault: OSError | smtplib.SMTPException) -> str:
    """What went wrong, for whoever runs the installation; never the letter's own words."""
    if isinstance(fault, smtplib.SMTPRecipientsRefused):
        return (
            f"The mail server does not take letters for this address: {_said(*next(iter(fault.recipients.values())))}"
        )
    if isinstance(fault, smtplib.SMTPAuthenticationError):
        return f"The mail server refuses the user and password in EMAIL_URL: {_said(fault.smtp_code, fault.smtp_error)}"
    if isinstance(fault, smtplib.SMTPResponseException):
        return f"The mail server refuses the letter: {_said(fault.smtp_code, fault.smtp_error)}"
    where = f"{settings.EMAIL_HOST}:{settings.EMAIL_PORT}" if settings.EMAIL_URL else mail_folder()
    return f"{where} cannot be reached: {fault}"


def _said(code: int, words: bytes | str) -> str:
    return f"{code} {words.decode('utf-8', 'replace') if isinstance(words, bytes) else words}"


def _is_final(fault: Exception) -> bool:
    """Whether trying again is useless: the server says this address will never do (RFC 5321, 4.2.1: a code of 5yz)."""
    if not isinstance(fault, smtplib.SMTPRecipientsRefused):
        return False
    return all(500 <= code < 600 for code, _ in fault.recipients.values())
