"""The first person of an installation: one link, one person, and never again."""

from functools import partial
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from teamroom.common.errors import RuleBroken
from teamroom.members.models import DistrictRole, FirstLink, Member
from teamroom.members.services.first_administrator import become_first, make_first_link, open_first
from tests import factories as make
from tests.at_once import at_once

PERSON = {"email": "fay@school.example", "name": "Fay", "passphrase": "a long enough phrase"}


@pytest.mark.django_db
def test_the_link_makes_a_district_administrator_and_is_then_worthless() -> None:
    token = make_first_link()
    assert token is not None and open_first(token)
    member = become_first(token, **PERSON)
    assert member.check_password(PERSON["passphrase"])
    assert DistrictRole.objects.get().member == member
    assert not open_first(token)
    with pytest.raises(RuleBroken, match="lets nobody in"):
        become_first(token, **{**PERSON, "email": "eve@school.example"})


@pytest.mark.django_db
def test_a_newer_link_makes_the_one_before_it_worthless() -> None:
    first, second = make_first_link(), make_first_link()
    assert first and second
    assert not open_first(first)
    assert open_first(second)


@pytest.mark.django_db
def test_only_a_hash_of_the_secret_is_kept() -> None:
    token = make_first_link()
    kept = FirstLink.objects.get().token_hash
    assert token is not None and token not in kept and len(kept) == 64


@pytest.mark.django_db
@pytest.mark.parametrize("token", ["", "no-such-secret", "x" * 5000, "\udce4", "0" * 64])
def test_any_other_text_opens_nothing(token: str) -> None:
    make_first_link()
    assert not open_first(token)
    with pytest.raises(RuleBroken):
        become_first(token, **PERSON)
    assert not Member.objects.exists()


@pytest.mark.django_db
def test_a_passphrase_that_is_easily_guessed_leaves_nobody_behind_and_the_link_good() -> None:
    token = make_first_link()
    assert token
    with pytest.raises(RuleBroken) as refused:
        become_first(token, **{**PERSON, "passphrase": "password"})
    assert refused.value.field == "passphrase"
    assert not Member.objects.exists()
    assert open_first(token)


@pytest.mark.django_db
def test_once_there_is_anybody_no_link_is_made_and_an_older_one_is_worthless() -> None:
    token = make_first_link()
    assert token
    make.make_member("Ada")
    assert make_first_link() is None
    assert not open_first(token)
    with pytest.raises(CommandError, match="somebody already"):
        call_command("first_link", stdout=StringIO())


@pytest.mark.django_db
def test_the_command_prints_a_link_that_works() -> None:
    told = StringIO()
    call_command("first_link", "--site", "https://teamroom.example/", stdout=told)
    link = told.getvalue().split()[0]
    assert link.startswith("https://teamroom.example/first/")
    assert open_first(link.rstrip("/").rsplit("/", 1)[1])


@pytest.mark.django_db(transaction=True)
def test_of_two_who_use_the_link_at_once_one_gets_in() -> None:
    for number in range(4):
        Member.objects.all().delete()
        token = make_first_link()
        assert token
        people = [{**PERSON, "email": f"{name}{number}@school.example"} for name in ("fay", "eve")]
        refused = at_once(*[partial(become_first, token, **person) for person in people])
        assert len(refused) == 1
        assert Member.objects.count() == DistrictRole.objects.count() == 1
