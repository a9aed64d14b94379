"""Addresses of signing in and of one's account. The names without a prefix are those the accounts library reverses."""

from django.conf import settings
from django.urls import path, re_path

from teamroom.members.views import accounts

urlpatterns = [
    path("sign-in/", accounts.sign_in, name="account_login"),
    path("sign-in/code/", accounts.code, name="mfa_authenticate"),
    path("sign-in/passkey/", accounts.passkey_sign_in, name="mfa_login_webauthn"),
    path("sign-in/closed/", accounts.closed, name="account_inactive"),
    path("sign-out/", accounts.sign_out, name="account_logout"),
    path("passphrase/lost/", accounts.lost, name="account_reset_password"),
    path("passphrase/lost/sent/", accounts.lost_sent, name="account_reset_password_done"),
    # The key has dashes of its own.
    re_path(
        r"^passphrase/new/(?P<uidb36>[0-9A-Za-z]+)-(?P<key>[^/]+)/$",
        accounts.new_passphrase,
        name="account_reset_password_from_key",
    ),
    path("passphrase/done/", accounts.new_passphrase_done, name="account_reset_password_from_key_done"),
    path("account/passphrase/", accounts.change_passphrase, name="account_change_password"),
    path("account/passphrase/first/", accounts.first_passphrase, name="account_set_password"),
    path("account/e-mail/", accounts.address, name="account_email"),
    path("account/e-mail/sent/", accounts.address_sent, name="account_email_verification_sent"),
    path("account/e-mail/confirm/<key>/", accounts.confirm_address, name="account_confirm_email"),
    path("account/again/", accounts.again, name="account_reauthenticate"),
    path("account/again/code/", accounts.code_again, name="mfa_reauthenticate"),
    path("account/again/passkey/", accounts.passkey_again, name="mfa_reauthenticate_webauthn"),
    path("account/two-steps/", accounts.two_steps, name="mfa_index"),
    path("account/two-steps/app/", accounts.app_on, name="mfa_activate_totp"),
    path("account/two-steps/app/off/", accounts.app_off, name="mfa_deactivate_totp"),
    path("account/two-steps/codes/", accounts.recovery_codes, name="mfa_view_recovery_codes"),
    path("account/two-steps/codes/new/", accounts.new_recovery_codes, name="mfa_generate_recovery_codes"),
    path("account/passkeys/", accounts.passkey_list, name="mfa_list_webauthn"),
    path("account/passkeys/add/", accounts.passkey_add, name="mfa_add_webauthn"),
    path("account/passkeys/<int:pk>/rename/", accounts.passkey_rename, name="mfa_edit_webauthn"),
    path("account/passkeys/<int:pk>/remove/", accounts.passkey_remove, name="mfa_remove_webauthn"),
    path("account/sessions/", accounts.session_list, name="usersessions_list"),
]

if settings.WITH_OIDC:
    from allauth.socialaccount.providers.openid_connect import views as oidc

    sign_in = accounts.page(accounts.asking_elsewhere(accounts.going_elsewhere(oidc.login)))
    back = accounts.page(accounts.asking_elsewhere(oidc.callback))
    urlpatterns += [
        path("sign-in/with/<provider_id>/", sign_in, name="openid_connect_login"),
        path("sign-in/with/<provider_id>/back/", back, name="openid_connect_callback"),
        path("sign-in/elsewhere/cancelled/", accounts.school_cancelled, name="socialaccount_login_cancelled"),
        path("sign-in/elsewhere/failed/", accounts.school_error, name="socialaccount_login_error"),
    ]
