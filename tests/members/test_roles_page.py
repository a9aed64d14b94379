"""The page of roles is made from the table that the checks ask, and says everything in it."""

import re

import pytest
from django.test import Client

from teamroom.members.role_words import DEEDS, REACH, ROLES, deed_lines
from teamroom.members.roles import MAY, Deed, Role
from tests import factories as make


def test_each_deed_and_each_role_has_its_sentence() -> None:
    assert set(DEEDS) == set(MAY) == set(Deed.__args__)  # type: ignore[attr-defined]  # a Literal knows its values
    assert set(ROLES) == set(REACH) == set(Role.__args__)  # type: ignore[attr-defined]  # likewise
    for words in ROLES.values():
        assert words.purpose.endswith(".") and words.given_by.endswith(".")
    assert len(set(DEEDS.values())) == len(DEEDS)


def test_the_table_told_is_the_table_asked() -> None:
    for (deed, allowed), line in zip(MAY.items(), deed_lines(), strict=True):
        assert line.said == DEEDS[deed]
        assert {role for role, may in zip(ROLES, line.may, strict=True) if may} == allowed


@pytest.mark.django_db
def test_the_page_shows_a_cell_for_each_deed_and_role_as_the_table_has_it() -> None:
    client = Client()
    client.force_login(make.make_member("Nora"))
    page = client.get("/roles/").text
    rows = re.findall(r"<tr><th scope=\"row\">(.*?)</th>(.*?)</tr>", page, re.DOTALL)
    assert [cells.count('class="may"') for _, cells in rows] == [len(allowed) for allowed in MAY.values()]
    assert [cells.count("<td") for _, cells in rows] == [len(ROLES)] * len(MAY)
