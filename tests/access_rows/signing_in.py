"""Who may reach the pages outside any school year: signing in, one's account, letters."""

from allauth.mfa.models import Authenticator

from tests.access_rows.world import MEMBERS, OPEN, Addresses, Rows, World
from tests.security.soft_key import SoftKey

# Whoever is signed in already is led to the home page; or on.
ENTRANCE = (*(302,) * 9, 200)
LED_ON = (302,) * 10
# Nothing is changed before who asks has shown once more that it is them.
OWN_SENT = (*(422,) * 9, 302)
DISTRICT = (*(404,) * 7, 200, 404, 302)
DISTRICT_DONE = (*(404,) * 7, 302, 404, 302)

ROWS: Rows = {
    ("home", "GET"): MEMBERS,
    ("health", "GET"): OPEN,
    # The way in
    ("account_login", "GET"): ENTRANCE,
    ("account_login", "POST"): (*(302,) * 9, 422),
    ("account_logout", "GET"): (*(200,) * 9, 302),
    ("account_logout", "POST"): LED_ON,
    ("account_inactive", "GET"): OPEN,
    ("mfa_authenticate", "GET"): LED_ON,
    ("mfa_authenticate", "POST"): LED_ON,
    ("mfa_login_webauthn", "GET"): LED_ON,
    ("mfa_login_webauthn", "POST"): LED_ON,
    ("openid_connect_login", "GET"): OPEN,
    # No district answers in the tests.
    ("openid_connect_login", "POST"): (503,) * 10,
    ("openid_connect_callback", "GET"): (401,) * 10,
    ("openid_connect_callback", "POST"): (401,) * 10,
    ("socialaccount_login_cancelled", "GET"): OPEN,
    ("socialaccount_login_error", "GET"): (401,) * 10,
    # A lost passphrase
    ("account_reset_password", "GET"): OPEN,
    ("account_reset_password", "POST"): (422,) * 10,
    ("account_reset_password_done", "GET"): OPEN,
    ("account_reset_password_from_key", "GET"): OPEN,
    ("account_reset_password_from_key", "POST"): (422,) * 10,
    ("account_reset_password_from_key_done", "GET"): OPEN,
    # One's account
    ("members:account", "GET"): MEMBERS,
    ("account_change_password", "GET"): MEMBERS,
    ("account_change_password", "POST"): OWN_SENT,
    ("account_set_password", "GET"): LED_ON,
    ("account_set_password", "POST"): LED_ON,
    ("account_email", "GET"): MEMBERS,
    ("account_email", "POST"): LED_ON,
    ("account_email_verification_sent", "GET"): OPEN,
    ("account_confirm_email", "GET"): OPEN,
    ("account_confirm_email", "POST"): (404,) * 10,
    ("account_reauthenticate", "GET"): MEMBERS,
    ("account_reauthenticate", "POST"): OWN_SENT,
    ("mfa_reauthenticate", "GET"): LED_ON,
    ("mfa_reauthenticate", "POST"): LED_ON,
    ("mfa_reauthenticate_webauthn", "GET"): (200, *(302,) * 9),
    ("mfa_reauthenticate_webauthn", "POST"): LED_ON,
    ("mfa_index", "GET"): MEMBERS,
    ("mfa_activate_totp", "GET"): LED_ON,
    ("mfa_activate_totp", "POST"): LED_ON,
    ("mfa_deactivate_totp", "GET"): (*(404,) * 9, 302),
    ("mfa_deactivate_totp", "POST"): (*(404,) * 9, 302),
    ("mfa_view_recovery_codes", "GET"): (*(404,) * 9, 302),
    ("mfa_generate_recovery_codes", "GET"): LED_ON,
    ("mfa_generate_recovery_codes", "POST"): LED_ON,
    ("mfa_list_webauthn", "GET"): MEMBERS,
    ("mfa_add_webauthn", "GET"): LED_ON,
    ("mfa_add_webauthn", "POST"): LED_ON,
    ("mfa_edit_webauthn", "GET"): LED_ON,
    ("mfa_edit_webauthn", "POST"): LED_ON,
    ("mfa_remove_webauthn", "GET"): LED_ON,
    ("mfa_remove_webauthn", "POST"): LED_ON,
    ("usersessions_list", "GET"): MEMBERS,
    ("usersessions_list", "POST"): LED_ON,
    # Letters
    ("members:letters", "GET"): DISTRICT,
    ("members:letters-again", "POST"): DISTRICT_DONE,
}

ADDRESSES: Addresses = {
    "openid_connect_login": ("provider",),
    "openid_connect_callback": ("provider",),
    "account_reset_password_from_key": ("person in a link", "key"),
    "account_confirm_email": ("key",),
    "mfa_edit_webauthn": ("passkey",),
    "mfa_remove_webauthn": ("passkey",),
}


def prepare(world: World) -> None:
    passkey = Authenticator.objects.create(
        user=world.people["own"],
        type=Authenticator.Type.WEBAUTHN,
        data={"name": "My phone", "credential": SoftKey().made("no-challenge")},
    )
    world.ids |= {"provider": "school", "person in a link": "1", "key": "no-key", "passkey": passkey.pk}
