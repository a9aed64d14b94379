"""Whatever is sent to any address: never a fault of the server, never half a change, nothing of another school.

The forms are read out of the pages as a browser reads them, and sent back with a few of their fields
changed: another choice, another row's id, too long, too big, the wrong type, bytes that are no text.
A refusal (4xx) must have written nothing at all; what is done must satisfy the database's own
constraints, and the readings must be those that a recomputation from scratch gives.

`FORMS_EXAMPLES` says how many are sent to each address.
"""

import os
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from typing import Any
from urllib.parse import urlencode, urlsplit

import pytest
from django.apps import apps
from django.core.cache import cache
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection, transaction
from django.http import HttpResponse
from django.test import Client
from django.urls import Resolver404, resolve, reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pytest_django import DjangoDbBlocker

from scheduling.services.compliance import recompute
from teamroom.dates.models import SchoolYear
from teamroom.school_file.dumping import dumped
from tests.access_rows.world import PEOPLE, World, make_world
from tests.factories import begin
from tests.page_forms import Control, PageForm, read_page
from tests.test_access_table import ADDRESSES, PARTS, TABLE

# So that the database is made; what lasts is the world of the whole module, and each test is taken back as ever.
pytestmark = pytest.mark.django_db

EXAMPLES = int(os.environ.get("FORMS_EXAMPLES", "4"))
OUR_APPS = ("dates", "members", "scheduling", "curriculum", "account", "mfa", "socialaccount", "pghistory")
PASSPHRASE = "a long enough phrase"
MOST_PAGES = 400
LEADS_OUT = ("openid_connect_login", "openid_connect_callback", "")
NAMES = sorted({name for name, _ in TABLE})


def _path(world: World, name: str) -> str:
    return reverse(name, args=[world.ids[key] for key in ADDRESSES.get(name, ())])


def _name_of(path: str) -> str:
    try:
        return resolve(path).view_name
    except Resolver404:
        return ""


def _person(name: str) -> str:
    """Who may do most at an address: who is refused for want of fields rather than led on or turned away."""
    answers = dict(zip(PEOPLE, TABLE.get((name, "POST"), TABLE.get((name, "GET"), ())), strict=True))
    for good in ((409, 422), (200,), (302,)):
        for person in ("administrator", "district", "own", "lead", "nobody"):
            if answers[person] in good:
                return person
    return "administrator"


@dataclass
class School:
    """The world of the access table, signed-in people, and the forms that they are shown."""

    world: World
    elsewhere: SchoolYear
    cookies: dict[str, str] = field(default_factory=dict)
    _forms: dict[str, dict[str, dict[str, PageForm]]] = field(default_factory=dict)

    def sign_in(self) -> None:
        """Everybody just now, so that what asks for the passphrase once more does not ask."""
        for person, member in self.world.people.items():
            client = Client()
            client.force_login(member)
            session = client.session
            session["account_authentication_methods"] = [{"method": "password", "at": time.time()}]
            session.save()
            self.cookies[person] = client.cookies["sessionid"].value

    def client(self, person: str) -> Client:
        client = Client(raise_request_exception=False)
        if person in self.cookies:
            client.cookies["sessionid"] = self.cookies[person]
        return client

    def forms(self, person: str, name: str) -> list[PageForm]:
        """Every sort of form sent to an address, on the pages that this person can reach by links."""
        if person not in self._forms:
            found = self._forms[person] = {}
            for form in self._crawled(person):
                told = {name: control for name, control in form.controls.items() if name != "csrfmiddlewaretoken"}
                found.setdefault(_name_of(form.action), {}).setdefault(repr(sorted(told.items())), form)
        return list(self._forms[person].get(name, {}).values())

    def _crawled(self, person: str) -> Iterator[PageForm]:
        client = self.client(person)
        waiting = [_path(self.world, name) for name, method in TABLE if method == "GET" and name not in LEADS_OUT]
        seen = set(waiting)
        for address in waiting:
            answer = client.get(address)
            if not answer.headers.get("Content-Type", "").startswith("text/html"):
                continue
            page = read_page(answer.text, address)
            yield from page.forms
            for link in page.links:
                more = urlsplit(link)
                inside = not more.netloc and _name_of(more.path) not in LEADS_OUT
                if inside and link not in seen and len(seen) < MOST_PAGES:
                    seen.add(link)
                    waiting.append(link)

    @cached_property
    def ids(self) -> list[str]:
        """Ids of rows here and at another school."""
        own = [str(value) for value in self.world.ids.values()]
        there = self.elsewhere
        foreign = [there.pk, there.school_id]
        for rows in (there.teams, there.classrooms, there.day_kinds, there.activities, there.bell_schedules):
            foreign += rows.values_list("pk", flat=True)
        return own + [str(pk) for pk in foreign]


@pytest.fixture(scope="module")
def school(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[School]:
    """One world for all addresses, which every example leaves as it was."""
    with django_db_blocker.unblock(), transaction.atomic():
        world = make_world()
        for part in PARTS:
            if hasattr(part, "prepare"):
                part.prepare(world)
        for year in SchoolYear.objects.all():
            recompute(begin(year), from_scratch=True)
        elsewhere = SchoolYear.objects.exclude(pk=world.ids["year"]).earliest("pk")
        school = School(world, elsewhere)
        school.sign_in()
        yield school
        transaction.set_rollback(True)


LONG, HUGE = "x" * 5000, "9" * 40
JUNK = (
    *("", " ", "\x00", "\ud800", "x\x00y", LONG, HUGE, "1" * 5000, "-1", "0", "1e9", "NaN", "1.5", "\u0663", "\u202e"),
    *("<script>", "'; --", "%s", "2026-13-45", "0001-01-01", "9999-12-31", "24:00", "25:61", "on", "None", "true"),
    *("{", "[]", '{"pool": {}}', "\r\n" * 60, "a,b;c\td", "\N{SNOWMAN}", "4:1", ":", "//elsewhere.example/"),
)
PLAUSIBLE: dict[str, tuple[str, ...]] = {
    "date": ("2026-09-07", "2026-09-16", "2026-10-30", "2026-11-20", "2026-06-01"),
    "time": ("08:00", "09:30", "12:00", "14:30"),
    "number": ("1", "5", "20", "180"),
    "email": ("pat@school.example", "lena@school.example", "ada@school.example"),
    "password": (PASSPHRASE, "another quite long phrase", "short"),
    "url": ("https://law.example/1",),
    "text": ("Choir", "4", "K, 1", "3-5", "60", "2026-27", "2026-09-16", "America/Chicago"),
    "textarea": ("Choir\nRobotics", "11/26/2026\tHoliday\n2026-12-24", "For the colleague who comes next."),
    "search": ("Ada",),
    "hidden": ("", "1"),
}
FITTING = {"grades": "4", "more_grades": "K, 1", "time_zone": "America/Chicago", "name": "Choir"}
EXTRA = ("id", "pk", "year", "school", "member", "role", "team", "classroom", "is_superuser", "next", "revision", "on")
CALENDAR = (
    b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:x\r\nBEGIN:VEVENT\r\nUID:1\r\nDTSTART;VALUE=DATE:20261012\r\n"
    b"SUMMARY:No school\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"
)
SHEET = b"Day,Time,Class\nMon,8:15-9:00,Math\nTue,9:00-9:30,Choir\n"
FILES = (b"", b"\x00\xff", b"{", b"[]", b"\xff\xfe{\x00", b"{}" * 1000, CALENDAR, CALENDAR[:80], SHEET, SHEET[:40])
Sent = dict[str, list[Any]]


def _plausible(control: Control) -> st.SearchStrategy[list[str]]:
    if control.kind in ("checkbox", "select", "radio") or (control.options and control.kind != "text"):
        return st.lists(st.sampled_from(control.options or [""]), max_size=3)
    return st.sampled_from(PLAUSIBLE.get(control.kind, PLAUSIBLE["text"])).map(lambda text: [text])


def _as_it_stands(controls: dict[str, Control]) -> Sent:
    """What a browser sends of a form in which somebody filled what must be filled, and nothing else."""
    sent: Sent = {}
    hours = iter(("08:00", "14:00", "15:00"))
    for name, control in controls.items():
        if control.kind in ("submit", "button", "image", "file"):
            continue
        if not control.required or any(control.sent) or control.kind == "hidden":
            sent[name] = list(control.sent)
        elif control.options:
            sent[name] = [option for option in control.options if option][:1]
        elif control.kind == "time":
            sent[name] = [next(hours, "16:00")]
        else:
            sent[name] = [FITTING.get(name) or PLAUSIBLE.get(control.kind, PLAUSIBLE["text"])[0]]
    return sent


@st.composite
def _sent(draw: st.DrawFn, forms: list[PageForm], ids: list[str]) -> Sent:
    """A form as it stands, with a few fields changed, left out or added."""
    controls = draw(st.sampled_from(forms)).controls if forms else {}
    sent = _as_it_stands(controls)
    odd = st.one_of(st.sampled_from(JUNK), st.sampled_from(ids), st.text(max_size=20))
    changed = draw(st.lists(st.sampled_from(sorted(controls)), max_size=4, unique=True)) if controls else []
    for name in changed:
        sent[name] = draw(st.one_of(_plausible(controls[name]), st.lists(odd, max_size=3)))
    for name in draw(st.lists(st.sampled_from(EXTRA), max_size=1 if controls else 3, unique=True)):
        if name not in sent:
            sent[name] = [draw(odd)]
    for name, control in controls.items():
        if control.kind == "file":
            content = draw(st.sampled_from(FILES))
            sent[name] = [SimpleUploadedFile("x.json", content)]
    return sent


def _post(client: Client, path: str, sent: Sent, fragment: bool) -> HttpResponse:
    """Sent as a browser's bytes; what no browser could encode is sent as the bytes it would have been."""
    headers = {"HX-Request": "true"} if fragment else {}
    if any(not isinstance(value, str) for values in sent.values() for value in values):
        clean = {
            name: [value.encode("utf-8", "replace").decode() if isinstance(value, str) else value for value in values]
            for name, values in sent.items()
        }
        return client.post(path, clean, headers=headers)  # type: ignore[return-value]  # the client's own kind of answer
    pairs = [(name, value) for name, values in sent.items() for value in values]
    body = urlencode(pairs, encoding="utf-8", errors="surrogatepass")
    return client.post(path, body, content_type="application/x-www-form-urlencoded", headers=headers)  # type: ignore[return-value]  # as above


@lru_cache
def _tables() -> list[str]:
    ours = {
        model._meta.db_table
        for config in apps.get_app_configs()
        if config.label in OUR_APPS
        for model in config.get_models(include_auto_created=True)
    }
    return sorted(ours.intersection(connection.introspection.table_names()))


def _everything() -> dict[str, str]:
    """A fingerprint of every table of ours; sessions come and go."""
    one = "SELECT '{0}', coalesce(md5(string_agg(t::text, '|' ORDER BY t::text)), '') FROM \"{0}\" t"
    with connection.cursor() as cursor:
        cursor.execute(" UNION ALL ".join(one.format(table) for table in _tables()))
        return dict(cursor.fetchall())


def _holds(school: School, person: str, before: dict[str, str], there: str, response: HttpResponse) -> None:
    """What must be so after any answer."""
    fault = getattr(response, "exc_info", None)
    # 503 is the page that says that the district's sign-in cannot be reached, as here it cannot.
    answered = response.status_code
    assert answered < 500 or answered == 503, f"answered {answered}: {fault and fault[1]!r}"
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
    after = _everything()
    changed = sorted(table for table in after if after[table] != before[table])
    if response.status_code >= 400:
        assert changed == [], f"refused with {response.status_code}, yet these tables changed"
    if to := response.headers.get("Location"):
        assert urlsplit(to).netloc in ("", "testserver"), f"led away to {to}"
    if person != "district":
        assert dumped(SchoolYear.objects.get(pk=school.elsewhere.pk)) == there, "another school changed"
    if changed:
        for year in SchoolYear.objects.all():
            pairs = recompute(year, from_scratch=True).pairs
            assert not pairs, f"readings were not those from scratch: {pairs[:3]}"


@pytest.mark.parametrize("name", NAMES)
def test_whatever_is_sent_is_done_whole_or_refused(
    school: School, django_db_blocker: DjangoDbBlocker, name: str
) -> None:
    path, person = _path(school.world, name), _person(name)
    with django_db_blocker.unblock():
        with transaction.atomic():
            empty = school.client(person).post(path)
            transaction.set_rollback(True)
        takes_forms = empty.status_code != 405
        expected = dict(zip(PEOPLE, TABLE.get((name, "POST"), ()), strict=False)).get(person)
        assert takes_forms or (name, "POST") not in TABLE
        if not takes_forms:
            return
        # What is sent by somebody who is not let in would prove nothing.
        assert expected not in (200, 409, 422) or empty.status_code == expected
        # A preview is asked for by a script, with the form that it stands beside.
        forms = school.forms(person, name) or school.forms(person, name.removesuffix("-preview"))
        before, there = _everything(), dumped(SchoolYear.objects.get(pk=school.elsewhere.pk))

        @settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=list(HealthCheck), database=None)
        @given(_sent(forms, school.ids), st.booleans())
        def sends(sent: Sent, fragment: bool) -> None:
            cache.clear()
            with transaction.atomic():
                response = _post(school.client(person), path, sent, fragment)
                _holds(school, person, before, there, response)
                transaction.set_rollback(True)

        sends()
