"""Several schools in one installation: the district sees all, each school itself, and home shows the way to each."""

import datetime as dt

import pytest
from django.core import mail
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from scheduling.selectors.school_standing import YearStanding, standings_of
from teamroom.common.errors import RuleBroken
from teamroom.dates.models import School, SchoolYear
from teamroom.members.models import DistrictRole, Invitation, Member, SchoolRole
from teamroom.members.services.district import give_district_role, take_district_role
from teamroom.members.services.schools import found_school
from tests import factories as make
from tests.members.letting_in import Place

pytestmark = pytest.mark.django_db
MATH = {"pool": {"of": ["math"]}, "at_least": 60}


@pytest.fixture
def dita() -> Member:
    member = make.make_member("Dita")
    DistrictRole.objects.create(member=member)
    return member


def signed_in(member: Member) -> Client:
    client = Client()
    client.force_login(member)
    return client


def past_year(school: School, name: str = "2025-26") -> SchoolYear:
    return SchoolYear.objects.create(
        school=school, name=name, first_day=dt.date(2025, 9, 1), last_day=dt.date(2026, 6, 10)
    )


def test_a_school_is_founded_and_its_administrator_invited_in_one_go(dita: Member) -> None:
    sent = {"name": "Juniper Ridge", "time_zone": "America/Denver", "place": "US-CO", "email": "ida@school.example"}
    client = signed_in(dita)
    answer = client.post("/schools/found/", sent)
    assert "It is for ida@school.example alone" in answer.text
    school = School.objects.get()
    assert (school.name, school.time_zone, school.place) == ("Juniper Ridge", "America/Denver", "US-CO")
    assert Invitation.objects.get().school_role == "administrator" and len(mail.outbox) == 1
    assert not SchoolRole.objects.exists(), "who founds a school is not of it"
    link = answer.text.split('readonly value="')[1].split('"')[0]
    ida = Client()
    page = ida.post(link, {"name": "Ida", "passphrase": "a long enough phrase"}, follow=True)
    assert "Begin its school year" in page.text
    begun = {"year_name": "2026-27", "first_day": "2026-09-07", "last_day": "2027-06-11"}
    page = ida.post(reverse("year-begin", args=[school.pk]), begun, follow=True)
    assert page.status_code == 200 and school.years.get().being_set_up


def test_a_school_is_founded_without_an_administrator_too(dita: Member) -> None:
    answer = signed_in(dita).post("/schools/found/", {"name": "Juniper Ridge", "time_zone": "UTC"}, follow=True)
    assert "Juniper Ridge is founded." in answer.text and "Invite its first administrator" in answer.text


@pytest.mark.parametrize(
    ("sent", "sentence"),
    [
        ({"name": " ", "time_zone": "UTC"}, "Give the school"),
        ({"name": "Fernhollow  ELEMENTARY", "time_zone": "UTC"}, "already"),
        ({"name": "Juniper Ridge", "time_zone": "Mars/Olympus"}, "Choose from the list."),
        ({"name": "Juniper Ridge", "time_zone": "UTC", "place": "US-ZZ"}, "Choose from the list."),
        ({"name": "Juniper Ridge", "time_zone": "UTC", "email": "nobody"}, "name@school.org"),
    ],
)
def test_what_cannot_be_founded_is_refused_at_its_field(dita: Member, sent: dict[str, str], sentence: str) -> None:
    make.make_year()
    answer = signed_in(dita).post("/schools/found/", sent)
    assert answer.status_code == 422 and sentence in answer.text
    assert School.objects.count() == 1 and not Invitation.objects.exists()


def test_the_service_refuses_a_time_zone_there_is_none_of() -> None:
    with pytest.raises(RuleBroken) as refused:
        found_school(name="Juniper Ridge", time_zone="../etc/passwd")
    assert refused.value.field == "time_zone"


def test_each_school_is_listed_with_its_year_and_how_many_classrooms_meet_all_rules(dita: Member) -> None:
    year = make.make_year()
    past_year(year.school)
    room, _, retired = (make.make_classroom(year, key) for key in ("room1", "room2", "room3"))
    retired.retired = True
    retired.save()
    owner = make.make_teacher(room)
    make.add(make.make_week(room), owner, ("mon", "08:00", "09:00", "math"))
    make.make_rule(year, "math", MATH)
    make.make_rule(year, "advice", {"pool": {"of": ["art"]}, "recommended": 60})
    bare = make.make_year("Bare School")
    make.make_classroom(bare)
    School.objects.create(name="Without a year", time_zone="UTC")
    page = signed_in(dita).get("/schools/").text
    assert standings_of([year.pk, bare.pk]) == {year.pk: YearStanding(2, 2, 1), bare.pk: YearStanding(1, 0, 0)}
    for words in ("1 of 2 classrooms meet all rules", "1 classroom, no rule to meet yet", "no year yet", "2026-27"):
        assert words in page


def test_the_lists_queries_do_not_grow_with_schools(dita: Member) -> None:
    client = signed_in(dita)

    def queries() -> int:
        with CaptureQueriesContext(connection) as asked:
            client.get("/schools/")
        return len(asked)

    make.make_classroom(make.make_year())
    few = queries()
    for number in range(12):
        year = make.make_year(f"School {number}")
        make.make_coordinator(year.school, f"Ada{number}", "administrator")
        make.make_classroom(year)
    assert queries() == few


def test_the_district_names_another_and_never_loses_the_last(dita: Member) -> None:
    dora = make.make_member("Dora")
    client = signed_in(dita)
    answer = client.post("/district/administrators/give/", {"email": "nobody@school.example"})
    assert answer.status_code == 422 and "Nobody signs in with this address" in answer.text
    answer = client.post(reverse("district-take", args=[dita.pk]))
    assert answer.status_code == 422 and "the only district administrator" in answer.text
    client.post("/district/administrators/give/", {"email": "DORA@school.example"})
    assert DistrictRole.objects.filter(member=dora).exists()
    answer = client.post(reverse("district-take", args=[dita.pk]))
    assert answer.status_code == 302 and answer["Location"] == "/"
    assert client.get("/schools/").status_code == 404


def test_a_closed_account_is_no_other_district_administrator(dita: Member) -> None:
    dora = make.make_member("Dora")
    DistrictRole.objects.create(member=dora)
    Member.objects.filter(pk=dora.pk).update(is_active=False)
    with pytest.raises(RuleBroken, match="only district administrator"):
        take_district_role(dita)
    with pytest.raises(RuleBroken, match="Nobody signs in"):
        give_district_role(email=dora.email)


def test_who_is_not_of_the_district_is_taken_from_nobody(dita: Member) -> None:
    nora = make.make_member("Nora")
    for person in (nora.pk, 99999):
        assert signed_in(dita).post(reverse("district-take", args=[person])).status_code == 404


def test_losing_the_district_takes_back_what_was_sent_by_it(dita: Member) -> None:
    DistrictRole.objects.create(member=make.make_member("Dora"))
    place = Place()
    made = place.invited(by=dita, school_role="administrator")
    assert take_district_role(dita) == 1
    assert Client().get(made.link).status_code == 410


def test_an_administrator_of_one_school_reaches_no_other(dita: Member) -> None:
    place, other = Place(), make.make_year("Another school")
    client = signed_in(place.administrator)
    for name in ("school", "year-begin", "school-invite"):
        assert client.get(reverse(name, args=[place.school.pk])).status_code == 200
        assert client.get(reverse(name, args=[other.school_id])).status_code == 404
        assert client.post(reverse(name, args=[other.school_id])).status_code in (404, 405)
    assert client.get(reverse("year", args=[other.pk])).status_code == 404
    assert client.get("/schools/").status_code == 404
    assert "Another school" not in client.get("/").text


def test_a_year_is_begun_beside_those_before_it(dita: Member) -> None:
    place = Place()
    client = signed_in(place.administrator)
    path = reverse("year-begin", args=[place.school.pk])
    sent = {
        "year_name": "2027-28",
        "first_day": "2027-09-06",
        "last_day": "2028-06-09",
        "school": 99,
        "being_set_up": "",
    }
    assert client.post(path, sent).status_code == 302
    assert client.post(path, sent).status_code == 422, "a year's name is taken once"
    assert client.post(path, {**sent, "year_name": "x", "last_day": "2027-09-05"}).status_code == 422
    begun = SchoolYear.objects.get(name="2027-28")
    assert begun.school == place.school and begun.being_set_up
    page = client.get(reverse("school", args=[place.school.pk])).text
    assert "2026-27" in page and "2027-28" in page


# The home page


def test_somebody_of_several_schools_sees_them_grouped_with_the_way_to_each() -> None:
    here, there = make.make_year("Alder School"), make.make_year("Birch School")
    olive = make.make_teacher(make.make_classroom(here))
    room = make.make_classroom(there, "room77")
    room.teachers.add(olive)
    page = signed_in(olive).get("/").text
    assert page.index("Alder School 2026-27") < page.index("Birch School 2026-27")
    assert page.count("Your classroom") == 2
    for year in (here, there):
        assert f'href="/years/{year.pk}/"' in page


def test_past_years_are_reached_from_home_and_from_each_other() -> None:
    year = make.make_year()
    old = past_year(year.school)
    ada = make.make_coordinator(year.school, "Ada", "administrator")
    room = make.make_classroom(old, "room99")
    client = signed_in(ada)
    assert f'href="/years/{old.pk}/"' in client.get("/").text
    page = client.get(f"/years/{old.pk}/").text
    assert "Room99" in page and f'href="/classrooms/{room.pk}/week/"' in page
    assert f'href="/years/{year.pk}/"' in page


def test_a_teacher_sees_of_a_past_year_what_was_theirs() -> None:
    year = make.make_year()
    old = past_year(year.school)
    olive = make.make_teacher(make.make_classroom(year))
    make.make_classroom(old, "other", ("5",))
    theirs = make.make_classroom(old, "theirs")
    theirs.team.roles.create(member=olive, role="teacher")
    page = signed_in(olive).get(f"/years/{old.pk}/").text
    assert "Theirs" in page and "Other<" not in page


def test_the_district_is_led_to_the_schools_and_reads_each(dita: Member) -> None:
    year = make.make_year()
    make.make_classroom(year)
    client = signed_in(dita)
    home = client.get("/").text
    assert "See all schools" in home and 'class="to-schools"' in home
    page = client.get(f"/years/{year.pk}/").text
    assert "Room12" in page and 'class="to-schools"' in page


def test_nobody_else_is_shown_the_way_to_the_schools() -> None:
    place = Place()
    for member in (place.administrator, place.lead):
        client = signed_in(member)
        for path in ("/", f"/years/{place.year.pk}/", f"/schools/{place.school.pk}/"):
            assert "to-schools" not in client.get(path).text


def test_the_homes_queries_do_not_grow_with_schools() -> None:
    first, second = make.make_year(), make.make_year("Second school")
    make.make_classroom(first)
    ada = make.make_coordinator(first.school, "Ada", "administrator")
    SchoolRole.objects.create(school=second.school, member=ada, role="administrator")
    client = signed_in(ada)

    def queries() -> int:
        with CaptureQueriesContext(connection) as asked:
            client.get("/")
        return len(asked)

    few = queries()
    for number in range(10):
        year = make.make_year(f"School {number}")
        past_year(year.school)
        make.make_classroom(year)
        SchoolRole.objects.create(school=year.school, member=ada, role="administrator")
    assert queries() == few
