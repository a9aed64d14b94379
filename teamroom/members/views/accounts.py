"""The pages of signing in and of one's account: the accounts library's views, answering as ours do."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from allauth.account import views as account
from allauth.account.decorators import reauthentication_required
from allauth.mfa.base import views as second_step
from allauth.mfa.recovery_codes import views as codes
from allauth.mfa.totp import views as app
from allauth.mfa.webauthn import views as passkeys
from allauth.socialaccount import views as school
from allauth.usersessions import views as sessions
from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.response import TemplateResponse
from django.utils.cache import add_never_cache_headers
from django.views.decorators.http import require_safe
from requests import RequestException

from teamroom.common.http import UNPROCESSABLE
from teamroom.members.roles import may
from teamroom.members.selectors.accounts import account_facts
from teamroom.members.selectors.roles_held import roles_in_district
from teamroom.members.signed_in import MemberRequest, signed_in

View = Callable[..., HttpResponse]
UNAVAILABLE = 503


@require_safe
@signed_in
def my_account(request: MemberRequest) -> HttpResponse:
    """What one signs in with, and the ways to change it."""
    told = {"facts": account_facts(request.user), "reads_letters": may(roles_in_district(request.user), "read letters")}
    return render(request, "members/account.html", told)


def page(view: View) -> View:
    """A library's view as a page of ours: a refused form answers 422, and no cache keeps anything of it."""

    @wraps(view)
    def asked(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        response = view(request, *args, **kwargs)
        if isinstance(response, TemplateResponse) and _refused(response.context_data or {}):
            response.status_code = UNPROCESSABLE
        add_never_cache_headers(response)
        return response

    return asked


def _refused(context: dict[str, Any]) -> bool:
    return any(isinstance(form, forms.BaseForm) and form.is_bound and form.errors for form in context.values())


def going_elsewhere(view: View) -> View:
    """A form's answer that leads to another host, as a page that goes there.

    Our content security policy lets forms lead to this host alone, and browsers hold redirects to it too.
    """

    @wraps(view)
    def asked(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        response = view(request, *args, **kwargs)
        if request.method == "POST" and response.status_code == 302 and "://" in response["Location"]:
            return render(request, "members/going_elsewhere.html", {"to": response["Location"]})
        return response

    return asked


def asking_elsewhere(view: View) -> View:
    """A view that asks the district's sign-in first: while that cannot be reached, a page says so."""

    @wraps(view)
    def asked(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        try:
            return view(request, *args, **kwargs)
        except RequestException:
            return render(request, "members/sign_in_away.html", status=UNAVAILABLE)

    return asked


def on_post(guard: Callable[[View], View], view: View) -> View:
    """Ask for the guard only where something is sent: looking is free."""
    guarded = guard(view)

    @wraps(view)
    def asked(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        return (guarded if request.method == "POST" else view)(request, *args, **kwargs)

    return asked


sign_in = page(account.login)
sign_out = page(account.logout)
closed = page(account.account_inactive)
lost = page(account.password_reset)
lost_sent = page(account.password_reset_done)
new_passphrase = page(account.password_reset_from_key)
new_passphrase_done = page(account.password_reset_from_key_done)
change_passphrase = page(account.password_change)
first_passphrase = page(account.password_set)
address = page(account.email)
address_sent = page(account.email_verification_sent)
confirm_address = page(account.confirm_email)
again = page(account.reauthenticate)
code = page(second_step.authenticate)
code_again = page(second_step.reauthenticate)
two_steps = page(second_step.index)
app_on = page(app.activate_totp)
app_off = page(app.deactivate_totp)
recovery_codes = page(codes.view_recovery_codes)
new_recovery_codes = page(codes.generate_recovery_codes)
passkey_list = page(passkeys.list_webauthn)
passkey_add = page(passkeys.add_webauthn)
passkey_rename = page(passkeys.edit_webauthn)
passkey_remove = page(passkeys.remove_webauthn)
passkey_sign_in = page(passkeys.login_webauthn)
passkey_again = page(passkeys.reauthenticate_webauthn)
session_list = page(on_post(reauthentication_required(app="allauth.account"), sessions.list_usersessions))
school_cancelled = page(school.login_cancelled)
school_error = page(school.login_error)
