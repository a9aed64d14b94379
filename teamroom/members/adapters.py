"""Where the accounts library asks what this app wants."""

import base64
from typing import Any

from allauth.account.adapter import DefaultAccountAdapter
from allauth.account.models import EmailAddress
from allauth.core import context
from allauth.core.exceptions import ImmediateHttpResponse
from allauth.mfa.adapter import DefaultMFAAdapter
from allauth.mfa.models import Authenticator
from allauth.socialaccount.adapter import DefaultSocialAccountAdapter
from allauth.socialaccount.models import SocialLogin
from allauth.usersessions.adapter import DefaultUserSessionsAdapter
from allauth.usersessions.models import UserSession
from cryptography.fernet import Fernet
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe
from qrcode.main import QRCode

from teamroom.common.live.announcing import announce, person_topic
from teamroom.members.models import Member

TOO_MANY = "There were too many tries for this account. Wait five minutes and try again, or use a passkey."
WAYS_AGAIN = {
    "reauthenticate": "Use your passphrase",
    "mfa_reauthenticate": "Use a code from your app",
    "mfa_reauthenticate:webauthn": "Use a passkey",
}


def signs_in_with(member: Member, email: str) -> bool:
    """Whether the address is the member's own: the one they have, not one they only asked to change to."""
    proven = EmailAddress.objects.filter(user=member, email=email.lower(), verified=True)
    return member.email.lower() == email.lower() or proven.exists()


class AccountAdapter(DefaultAccountAdapter):
    """Accounts are opened by invitation, and letters are in our own words."""

    error_messages = DefaultAccountAdapter.error_messages | {
        "email_password_mismatch": "That address and passphrase do not belong together. Check both and try again; "
        "capital letters count in the passphrase.",
        "too_many_login_attempts": TOO_MANY,
        "rate_limited": TOO_MANY,
        "incorrect_code": "That code is not the right one. Codes change every 30 seconds: type the one shown now.",
        "incorrect_password": "That is not your passphrase. Check it and try again; capital letters count.",
        "enter_current_password": "That is not your passphrase of now. Check it and try again; capital letters count.",
        "duplicate_email": "This is your address already.",
        "invalid_password_reset": "This link is used up or too old.",
    }

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        return False

    def is_ajax(self, request: HttpRequest) -> bool:
        """Only the passkey's script asks for data; everything else answers pages."""
        return request.path == reverse("mfa_login_webauthn") and request.headers.get("Accept") == "application/json"

    def authenticate(self, request: HttpRequest, **credentials: Any) -> Member | None:
        member: Member | None = super().authenticate(request, **credentials)
        return member if member and signs_in_with(member, credentials.get("email", "")) else None

    def get_password_change_redirect_url(self, request: HttpRequest) -> str:
        return reverse("members:account")

    def get_email_verification_redirect_url(self, email_address: EmailAddress) -> str:
        return reverse("members:account" if self.request.user.is_authenticated else "account_login")

    def confirm_email(self, request: HttpRequest, email_address: EmailAddress) -> bool:
        others = Member.objects.filter(email__iexact=email_address.email).exclude(pk=email_address.user_id)
        if others.exists():
            self.add_message(request, messages.ERROR, "account/messages/email_confirmation_failed.txt")
            return False
        confirmed: bool = super().confirm_email(request, email_address)
        return confirmed

    def send_notification_mail(
        self, template_prefix: str, user: Member, context: dict[str, Any] | None = None, email: str | None = None
    ) -> None:
        super().send_notification_mail(template_prefix, user, {"user": user, **(context or {})}, email)

    def get_reauthentication_methods(self, user: Member) -> list[dict[str, Any]]:
        ways: list[dict[str, Any]] = super().get_reauthentication_methods(user)
        return [{**way, "description": WAYS_AGAIN[way["id"]]} for way in ways]


class SecondStepAdapter(DefaultMFAAdapter):
    """Secrets of the second step lie in the database under a key that is not in it."""

    error_messages = DefaultMFAAdapter.error_messages | {
        "incorrect_code": AccountAdapter.error_messages["incorrect_code"],
        "unverified_email": "First confirm your e-mail address: without it a lost phone could lock you out. The letter "
        "with the link was sent to you; the page of your address sends it again.",
    }

    def encrypt(self, text: str) -> str:
        return _cipher().encrypt(text.encode()).decode()

    def decrypt(self, encrypted_text: str) -> str:
        """The secret; InvalidToken where SECRET_KEY has been changed since."""
        return _cipher().decrypt(encrypted_text.encode()).decode()

    def generate_authenticator_name(self, user: Member, type: Authenticator.Type) -> str:
        count = Authenticator.objects.filter(user=user, type=type).count()
        return f"Passkey {count + 1}" if count else "My passkey"

    def get_public_key_credential_rp_entity(self) -> dict[str, str]:
        return {"id": context.request.get_host().partition(":")[0], "name": settings.MFA_TOTP_ISSUER}

    def build_totp_svg(self, url: str) -> SafeString:
        """The code as a drawing inside the page: dark on light in any colour scheme, as cameras expect."""
        code = QRCode(border=3)
        code.add_data(url)
        rows = code.get_matrix()
        dark = "".join(f"M{x} {y}h1v1h-1z" for y, row in enumerate(rows) for x, on in enumerate(row) if on)
        return mark_safe(  # noqa: S308 - made of numbers alone
            f'<svg class="qr" viewBox="0 0 {len(rows)} {len(rows)}" role="img" '
            'aria-label="The code to take a picture of">'
            f'<path fill="#fff" d="M0 0h{len(rows)}v{len(rows)}H0z"/><path fill="#000" d="{dark}"/></svg>'
        )


class SessionsAdapter(DefaultUserSessionsAdapter):
    """Whoever ends their other sessions ends the streams of their pages too."""

    def end_sessions(self, sessions: list[UserSession]) -> None:
        super().end_sessions(sessions)
        announce(*(person_topic(session.user_id) for session in sessions))


class SchoolSignInAdapter(DefaultSocialAccountAdapter):
    """The district's own sign-in opens the account whose proven address it vouches for, and makes none."""

    def is_open_for_signup(self, request: HttpRequest, sociallogin: SocialLogin) -> bool:
        raise ImmediateHttpResponse(_nobody_of_ours(request))

    def pre_social_login(self, request: HttpRequest, sociallogin: SocialLogin) -> None:
        # Nothing is tied to an account for good: what the other side says counts anew each time.
        if sociallogin.state.get("process") != "login":
            raise ImmediateHttpResponse(redirect("members:account"))

    def authenticate_by_email(self, sociallogin: SocialLogin) -> tuple[Member, str] | None:
        for email in (each.email for each in sociallogin.email_addresses if each.verified is True):
            ours = EmailAddress.objects.select_related("user").filter(email=email.lower(), verified=True).first()
            if ours is not None:
                return ours.user, ours.email
        return None

    def get_connect_redirect_url(self, request: HttpRequest, socialaccount: object) -> str:
        return reverse("members:account")


def _nobody_of_ours(request: HttpRequest) -> HttpResponse:
    return render(request, "account/signup_closed.html", status=403)


def _cipher() -> Fernet:
    key = HKDF(SHA256(), 32, salt=None, info=b"teamroom second step").derive(settings.SECRET_KEY.encode())
    return Fernet(base64.urlsafe_b64encode(key))
