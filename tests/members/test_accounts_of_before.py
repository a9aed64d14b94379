"""Upgrading: whoever could sign in before can do so afterwards, without a letter to confirm the address."""

from importlib import import_module

import pytest
from allauth.account.models import EmailAddress
from django.apps import apps
from django.core import mail
from django.test import Client

from teamroom.members.models import Member
from tests.factories import make_member
from tests.security.conftest import PHRASE, sent

forward = import_module("teamroom.members.migrations.0003_addresses_of_accounts").forward


@pytest.mark.django_db
def test_members_of_before_have_a_proven_address_afterwards() -> None:
    make_member("Ben")
    make_member("Ada")
    EmailAddress.objects.filter(email__startswith="ada").delete()
    Member.objects.filter(name="Ada").update(email="Ada.Old@School.example")
    forward(apps, None)
    assert EmailAddress.objects.filter(verified=True, primary=True).count() == 2
    assert sent(Client(), "ada.old@school.example", PHRASE) == 302
    assert sent(Client(), "ben@school.example", PHRASE) == 302
    assert mail.outbox == []
