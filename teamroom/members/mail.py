"""The mail backend: a letter is a row of the caller's transaction, so what did not happen is never written about."""

from collections.abc import Sequence

from django.core.mail import EmailMessage, EmailMultiAlternatives
from django.core.mail.backends.base import BaseEmailBackend

from teamroom.common.nudge import nudge
from teamroom.members.models import Letter

SWEEP = "teamroom.members.tasks.send_letters"


class LetterBackend(BaseEmailBackend):
    """Writes a letter for each recipient of a message, and nudges the background work to send them."""

    def send_messages(self, email_messages: Sequence[EmailMessage]) -> int:
        """How many messages became letters."""
        letters = [letter for message in email_messages for letter in letters_of(message)]
        if letters:
            Letter.objects.bulk_create(letters)
            nudge(SWEEP)
        return len(email_messages)


def letters_of(message: EmailMessage) -> list[Letter]:
    """A letter for each recipient, so that none learns of another."""
    html = ""
    if isinstance(message, EmailMultiAlternatives):
        html = next((str(content) for content, kind in message.alternatives if kind == "text/html"), "")
    subject = " ".join(str(message.subject).split())[:300]
    return [Letter(to=address, subject=subject, text=str(message.body), html=html) for address in message.recipients()]
