"""A year's activities: how each looks on the week, and where it is used."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Count, QuerySet
from django.http import Http404
from django.urls import NoReverseMatch, reverse

from scheduling.minutes.definitions import activities_named
from scheduling.minutes.figures import listed
from scheduling.models import Activity, Block, BlockCredit, DayChange, DayChangeCredit, FixedStretch, Rule
from scheduling.models.specialists import SpecialistPost
from scheduling.rule_library.library import activity_names, jurisdictions
from scheduling.selectors.year_words import year_words
from teamroom.common.clock import said_span
from teamroom.common.wording import counted, full_date
from teamroom.dates.grades import said_grades
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Classroom

MOST_LISTED = 60

# What the library has as one, and its parts: a year has seldom both.
AS_ONE = {"english": ("reading", "language_arts")}

Rows = QuerySet[Any, Any]


@dataclass
class Uses:
    """How often an activity is used in each way. False where it is used nowhere."""

    blocks: int = 0
    credits: int = 0
    fixed: int = 0
    rules: int = 0
    changes: int = 0
    posts: int = 0

    def __bool__(self) -> bool:
        return bool(self.blocks or self.credits or self.fixed or self.rules or self.changes or self.posts)

    @property
    def said(self) -> str:
        told = [
            (self.blocks, "block", None),
            (self.credits, "block’s credits", "blocks’ credits"),
            (self.fixed, "fixed stretch of the bells", "fixed stretches of the bells"),
            (self.rules, "rule", None),
            (self.changes, "day change", None),
            (self.posts, "specialist’s post", "specialists’ posts"),
        ]
        return listed([counted(number, thing, things) for number, thing, things in told if number])


@dataclass(frozen=True, slots=True)
class ActivityLine:
    """An activity of the list. `look` names its colour and hatching on the week; where it `frees`,
    the class's own teacher is free then."""

    pk: int
    name: str
    look: str
    used: Uses
    frees: bool


@dataclass(frozen=True, slots=True)
class Place:
    """A place where an activity is used; `to` is '' where no page shows it."""

    name: str
    said: str
    to: str


@dataclass(frozen=True, slots=True)
class Usual:
    """An activity of the library. `there` is what the year calls it, '' where it has none of it."""

    key: str
    name: str
    said: str
    there: str
    ticked: bool


def activity_in(year: SchoolYear, pk: int) -> Activity:
    """One of the year's own activities, or 404."""
    activity = Activity.objects.filter(year=year, pk=pk).first()
    if activity is None:
        raise Http404
    return activity


def activity_lines(year: SchoolYear) -> list[ActivityLine]:
    """Every activity in the order that decides its colour. A fixed number of queries."""
    uses = uses_of(year)
    # Not among the words, which are kept until a reading can change.
    freeing = set(year.activities.filter(frees_teacher=True).values_list("pk", flat=True))
    return [
        ActivityLine(one.pk, one.name, one.look, uses.get(one.pk, Uses()), one.pk in freeing)
        for one in year_words(year).activities.values()
    ]


def uses_of(year: SchoolYear) -> Mapping[int, Uses]:
    """Where the year's activities are used, by id; those used nowhere are left out."""
    found: dict[int, Uses] = defaultdict(Uses)
    counts: dict[str, Iterable[tuple[int, int]]] = {
        "blocks": _counts(Block.objects.filter(column__week__classroom__year=year)),
        "credits": _counts(BlockCredit.objects.filter(block__column__week__classroom__year=year)),
        "fixed": _counts(FixedStretch.objects.filter(bell_schedule__year=year)),
        "changes": _counts(DayChangeCredit.objects.filter(day_change__year=year)),
        "posts": _counts(SpecialistPost.objects.filter(activity__year=year)),
        "rules": _rule_counts(year).items(),
    }
    for way, pairs in counts.items():
        for activity, count in pairs:
            setattr(found[activity], way, count)
    return found


def _counts(rows: Rows) -> Iterable[tuple[int, int]]:
    found: Iterable[tuple[int, int]] = (
        rows.values("activity").annotate(count=Count("pk")).values_list("activity", "count")
    )
    return found


def _rule_counts(year: SchoolYear) -> dict[int, int]:
    ids = dict(year.activities.values_list("key", "pk"))
    found: dict[int, int] = defaultdict(int)
    for body in Rule.objects.filter(year=year).values_list("body", flat=True):
        for key in {key for _, key in activities_named(body)} & ids.keys():
            found[ids[key]] += 1
    return found


def places_of(activity: Activity) -> dict[str, Sequence[Place]]:
    """Where an activity is used, under headings; at most `MOST_LISTED` of each."""
    year = activity.year
    found = {
        "Weeks": list(_weeks(activity)),
        "Fixed stretches of the bells": list(_fixed(activity)),
        "Rules": list(_rules(activity)),
        "Day changes": list(_changes(activity)),
        "Specialists": [
            Place(post.member.name, "", address("scheduling:specialists", year.pk))
            for post in SpecialistPost.objects.filter(activity=activity).select_related("member")[:MOST_LISTED]
        ],
    }
    return {title: places for title, places in found.items() if places}


def _weeks(activity: Activity) -> Iterator[Place]:
    blocks = _by_room(Block.objects.filter(activity=activity).values_list("column__week__classroom"))
    credits = _by_room(BlockCredit.objects.filter(activity=activity).values_list("block__column__week__classroom"))
    rooms = Classroom.objects.filter(pk__in=blocks.keys() | credits.keys()).order_by("name", "key")
    for room in rooms[:MOST_LISTED]:
        used = Uses(blocks=blocks.get(room.pk, 0), credits=credits.get(room.pk, 0))
        yield Place(str(room), used.said, address("scheduling:week", room.pk))


def _by_room(rooms: Rows) -> dict[int, int]:
    return dict(rooms.annotate(count=Count("pk")).order_by())


def _fixed(activity: Activity) -> Iterator[Place]:
    rows = FixedStretch.objects.filter(activity=activity).select_related("bell_schedule__kind")
    for row in rows.order_by("bell_schedule__grade", "bell_schedule__kind", "start")[:MOST_LISTED]:
        bell = row.bell_schedule
        yield Place(
            f"{said_grades([bell.grade]).capitalize()}, {bell.kind}",
            said_span(row.start, row.end),
            f"{reverse('scheduling:bell-set', args=[bell.year_id])}?for={bell.grade}:{bell.kind_id}",
        )


def _rules(activity: Activity) -> Iterator[Place]:
    for rule in Rule.objects.filter(year=activity.year_id).order_by("pk"):
        if any(key == activity.key for _, key in activities_named(rule.body)):
            yield Place(rule.name, rule.standing, address("scheduling:rules", activity.year_id))


def _changes(activity: Activity) -> Iterator[Place]:
    for change in DayChange.objects.filter(credits__activity=activity).order_by("date")[:MOST_LISTED]:
        yield Place(change.name, full_date(change.date), address("scheduling:calendar", activity.year_id))


def address(name: str, *args: int) -> str:
    """Where something is shown; '' while no page shows it."""
    try:
        return reverse(name, args=args)
    except NoReverseMatch:
        return ""


def usual_activities(year: SchoolYear) -> list[Usual]:
    """The library's activities, those that the rules of the school's own state speak of ticked.

    Where the school said no state, or the library has none of its rules, nothing is ticked.
    """
    rows = dict(year.activities.values_list("key", "name"))
    named = {name.casefold(): name for name in rows.values()}
    own = jurisdictions().get(year.school.place.lower())
    spoken = frozenset().union(*(rule.activities for rule in own.rules)) if own else frozenset()
    names = activity_names()
    found = []
    for key, name in names.items():
        parts = [part for part in AS_ONE.get(key, ()) if part in spoken]
        said = f"in the rules of {own.name}" if own and key in spoken else ""
        if said and parts:
            said += f"; tick it instead of {listed([names[part] for part in parts])} where you plan them as one"
        there = rows.get(key) or named.get(name.casefold(), "")
        found.append(Usual(key, name, said, there, ticked=key in spoken and key not in rows and not parts))
    return found
