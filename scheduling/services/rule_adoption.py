"""Taking published rules out of the library into a school's year, where the school may edit them."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from django.db import transaction

from scheduling.minutes.definitions import written_parts
from scheduling.models import Activity, Rule
from scheduling.rule_library.library import Jurisdiction, LibraryRule, activity_names, on_day_kinds, renamed
from scheduling.services.compliance import recompute
from teamroom.common.errors import RuleBroken
from teamroom.dates.calendar_maths import REGULAR
from teamroom.dates.models import SchoolYear
from teamroom.dates.services import begin_year_change
from teamroom.members.models import Classroom, Team


@dataclass(frozen=True)
class Caution:
    """A mapped activity of the school that holds more than a rule counts, so that the rule may look
    met when it is not. `uncounted` are keys of the library, `school` is the school's own key."""

    rule: LibraryRule
    uncounted: tuple[str, ...]
    school: str

    def __str__(self) -> str:
        more = " or ".join(self.uncounted)
        return f"{self.rule.key} does not count {more}, yet the school's {self.school} holds it too."


@dataclass(frozen=True)
class Adoption:
    """What adopting does to a year. Rules are unsaved until `adopt` has written them.

    `widened` pairs a rule the year already has with the grades it gains; `left_out` pairs a
    library rule with the reason; `unchanged` are rules the year has for all the grades asked for.
    `created` maps the keys of new activities to their names.
    """

    added: Sequence[Rule] = ()
    widened: Sequence[tuple[Rule, Sequence[str]]] = ()
    unchanged: Sequence[Rule] = ()
    left_out: Sequence[tuple[LibraryRule, str]] = ()
    created: Mapping[str, str] = field(default_factory=dict)
    cautions: Sequence[Caution] = ()

    def __bool__(self) -> bool:
        return bool(self.added or self.widened)

    @property
    def not_checkable(self) -> list[Rule]:
        """The year's rules, new or old, that a class's week cannot prove."""
        taken = (*self.added, *(rule for rule, _ in self.widened), *self.unchanged)
        return [rule for rule in taken if rule.not_checkable]


@transaction.atomic
def adopt(
    year: SchoolYear,
    *,
    place: Jurisdiction,
    grades: Collection[str] = (),
    only: Collection[str] = (),
    names: Mapping[str, str] | None = None,
) -> Adoption:
    """Adopt a jurisdiction's rules for some grades (all the school's, unless given).

    `only` names rules by key, or all general rules of an id; rules for special cases and rules out
    of force stay out unless named by key. `names` maps the library's activities to the school's;
    an activity the year has neither under its own key nor under a mapped one is created. What the
    year already has is never rewritten, save that a rule may gain grades, so adopting twice changes
    nothing. Raises RuleBroken.
    """
    held = SchoolYear.objects.select_for_update().get(pk=year.pk)
    adoption = planned_adoption(held, place=place, grades=grades, only=only, names=names)
    if adoption:
        _write(held, adoption)
    return adoption


def planned_adoption(
    year: SchoolYear,
    *,
    place: Jurisdiction,
    grades: Collection[str] = (),
    only: Collection[str] = (),
    names: Mapping[str, str] | None = None,
) -> Adoption:
    """What `adopt` would do, with nothing written. Raises RuleBroken."""
    wanted = set(grades) or _grades_of(year)
    if not wanted:
        raise RuleBroken(f"No team or classroom of {year.name} names a grade yet: say for which grades.")
    chosen = _chosen(place, only)
    there = dict(Activity.objects.filter(year=year).values_list("key", "name"))
    renaming = _checked_names(names or {}, there)
    present = {rule.key: rule for rule in Rule.objects.filter(year=year, key__in=[rule.key for rule in chosen])}
    kinds = set(year.day_kinds.values_list("key", flat=True))
    added, widened, unchanged, left_out = [], [], [], []
    for rule in chosen:
        mine = [grade for grade in rule.grades if grade in wanted]
        if reason := _reason_to_leave_out(rule, year, mine, kinds, named=rule.key in only):
            left_out.append((rule, reason))
        elif (old := present.get(rule.key)) is None:
            added.append(_row(rule, year, mine, renaming, kinds))
        elif more := [grade for grade in mine if grade not in old.grades]:
            widened.append((old, more))
        else:
            unchanged.append(old)
    new = {row.key for row in added}
    needed = {renaming.get(one, one) for rule in chosen if rule.key in new for one in rule.activities} - set(there)
    created = {key: name for key, name in activity_names().items() if key in needed}
    cautions = [caution for rule in chosen if rule.key in new for caution in _cautions(rule, renaming)]
    return Adoption(added, widened, unchanged, left_out, created, cautions)


def _grades_of(year: SchoolYear) -> set[str]:
    """Every grade that a team or classroom of the year names."""
    lists = [
        *Team.objects.filter(year=year).values_list("grades", flat=True),
        *Classroom.objects.filter(year=year).values_list("grades", flat=True),
    ]
    return {grade for grades in lists for grade in grades}


def _chosen(place: Jurisdiction, only: Collection[str]) -> list[LibraryRule]:
    """The rules of these keys, and those of an id that is not itself a key."""
    keys = {rule.key for rule in place.rules}
    ids = set(only) - keys
    if unknown := ids - {published for rule in place.rules for published in rule.ids}:
        raise RuleBroken(f"{place.name} has no rule {', '.join(sorted(unknown))}: list_rules shows those it has.")
    return [rule for rule in place.rules if not only or rule.key in only or ids & set(rule.ids)]


def _checked_names(names: Mapping[str, str], there: Collection[str]) -> Mapping[str, str]:
    for library, school in names.items():
        if library not in activity_names():
            raise RuleBroken(f"The library has no activity {library}: it has {', '.join(activity_names())}.")
        if school not in there:
            raise RuleBroken(f"The school has no activity {school}: it has {', '.join(sorted(there)) or 'none yet'}.")
    return names


def _reason_to_leave_out(
    rule: LibraryRule, year: SchoolYear, grades: Sequence[str], kinds: Collection[str], *, named: bool
) -> str:
    """Why a rule stays out; empty if it does not. Its key, given, overrules what the school alone can know."""
    if not grades:
        return f"for grades {', '.join(rule.grades)} only"
    if rule.on_days != "every day" and not set(kinds) - {REGULAR}:
        return "for other kinds of day than regular, and the year has none"
    if not named and rule.only_if:
        return f"only for: {rule.only_if}; name its key to adopt it"
    if not named and not rule.in_force_between(year.first_day, year.last_day):
        return "not in force in this year; name its key to adopt it"
    return ""


def _cautions(rule: LibraryRule, names: Mapping[str, str]) -> Iterator[Caution]:
    for _, part in written_parts(rule.body):
        counted = part["pool"].get("of", ())
        for school in dict.fromkeys(names.get(activity, activity) for activity in counted):
            held = {library for library in activity_names() if names.get(library, library) == school}
            if more := sorted(held - set(counted)):
                yield Caution(rule, tuple(more), school)


def _row(
    rule: LibraryRule, year: SchoolYear, grades: list[str], names: Mapping[str, str], kinds: Collection[str]
) -> Rule:
    body = renamed(rule.body, names)
    if rule.on_days != "every day":
        body = on_day_kinds(body, set(kinds) - {REGULAR})
    return Rule(
        year=year,
        key=rule.key,
        name=rule.name,
        grades=grades,
        standing=rule.standing,
        citation_title=rule.citation.title,
        citation_url=rule.citation.url,
        citation_checked=rule.citation.checked,
        effective_from=rule.effective_from,
        effective_to=rule.effective_to,
        not_checkable=rule.not_checkable,
        note=rule.note,
        body=body,
    )


def _write(held: SchoolYear, adoption: Adoption) -> None:
    year = begin_year_change(held.pk)
    Activity.objects.bulk_create(Activity(year=year, key=key, name=name) for key, name in adoption.created.items())
    for rule in adoption.added:
        rule.full_clean()
        rule.save()
    for rule, grades in adoption.widened:
        rule.grades = [*rule.grades, *grades]
        rule.save(update_fields=["grades"])
    touched = [*adoption.added, *(rule for rule, _ in adoption.widened)]
    recompute(year, rules={rule.pk for rule in touched})
