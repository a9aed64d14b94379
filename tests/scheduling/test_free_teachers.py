"""Activities during which a class's own teacher is free: set on their pages, reaching no reading."""

import pytest
from django.test import Client
from django.urls import reverse

from scheduling.models import Activity
from scheduling.selectors.activity_uses import activity_lines
from teamroom.common.live.announcing import year_topic
from teamroom.common.live.models import Topic
from teamroom.dates.models import SchoolYear
from tests import factories as make

pytestmark = pytest.mark.django_db


@pytest.fixture
def art() -> Activity:
    return Activity.objects.select_related("year__school").get(year=make.make_year(), key="art")


@pytest.fixture
def ada(art: Activity) -> Client:
    client = Client()
    client.force_login(make.make_coordinator(art.year.school, "Ada", "administrator"))
    return client


def test_an_activity_frees_the_teacher_once_somebody_says_so_and_no_longer_once_they_take_it_back(
    art: Activity, ada: Client
) -> None:
    url, page = (reverse(f"scheduling:{name}", args=[art.year_id, art.pk]) for name in ("activity-frees", "activity"))
    assert "own teacher has the class then" in ada.get(page).content.decode()
    told = ada.post(url, {"frees": "1"}, follow=True).content.decode()
    assert "Art: Somebody else has the class then" in told
    art.refresh_from_db()
    assert art.frees_teacher
    assert [line.name for line in activity_lines(art.year) if line.frees] == ["Art"]
    listed = ada.get(reverse("scheduling:activities", args=[art.year_id])).content.decode()
    assert listed.count("the class’s own teacher is free then") == 1
    ada.post(url)
    art.refresh_from_db()
    assert not art.frees_teacher


def test_it_reaches_no_reading_and_open_pages_hear_of_it(art: Activity, ada: Client) -> None:
    was = SchoolYear.objects.get(pk=art.year_id).revision
    ada.post(reverse("scheduling:activity-frees", args=[art.year_id, art.pk]), {"frees": "1"})
    assert SchoolYear.objects.get(pk=art.year_id).revision == was
    assert Topic.objects.get(name=year_topic(art.year_id)).edition == 1


def test_who_may_not_set_the_year_up_is_not_offered_it(art: Activity) -> None:
    client = Client()
    client.force_login(make.make_coordinator(art.year.school))
    page = client.get(reverse("scheduling:activity", args=[art.year_id, art.pk])).content.decode()
    assert "They are free then" not in page
