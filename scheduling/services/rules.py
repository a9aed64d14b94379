"""A school's own keeping of its minutes rules."""

import datetime as dt
import json
from collections.abc import Collection, Iterable, Mapping
from dataclasses import asdict, dataclass, field
from hashlib import blake2b
from typing import Any

from django.db import transaction

from scheduling.models import Rule
from scheduling.selectors.retired_rules import last_of
from scheduling.services.compliance import ReadingChanges, recompute
from teamroom.common.errors import RuleBroken, Stale
from teamroom.common.keys import free_key
from teamroom.dates.models import SchoolYear
from teamroom.dates.services import begin_year_change


@dataclass(frozen=True, kw_only=True)
class Wording:
    """All that a rule says of itself. `body` is empty exactly where `not_checkable` gives a reason."""

    name: str
    grades: tuple[str, ...]
    standing: str = "school"
    citation_title: str = ""
    citation_url: str = ""
    citation_checked: dt.date | None = None
    effective_from: dt.date | None = None
    effective_to: dt.date | None = None
    not_checkable: str = ""
    note: str = ""
    body: Mapping[str, Any] = field(default_factory=dict)


def wording_of(rule: Rule) -> Wording:
    told = {name: getattr(rule, name) for name in Wording.__dataclass_fields__}
    return Wording(**{**told, "grades": tuple(rule.grades)})


def state_of(rule: Rule) -> str:
    """What a rule says, in short: another text after every change, the same after a change taken back."""
    told = json.dumps(asdict(wording_of(rule)), sort_keys=True, default=str)
    return blake2b(told.encode(), digest_size=12).hexdigest()


@transaction.atomic
def set_rules(year: SchoolYear, rules: Iterable[Rule]) -> ReadingChanges:
    """Write rules, new or changed, and bring only their readings up to date."""
    year = begin_year_change(year.pk)
    written = []
    for rule in rules:
        rule.year = year
        rule.full_clean()
        rule.save()
        written.append(rule.pk)
    return recompute(year, rules=written)


@transaction.atomic
def add_rule(year: SchoolYear, wording: Wording) -> Rule:
    """A new rule, its key made from its name."""
    held = SchoolYear.objects.select_for_update().get(pk=year.pk)
    taken = Rule.objects.filter(year=held).values_list("key", flat=True)
    rule = Rule(year=held, key=free_key(wording.name, taken, otherwise="rule"))
    _say(rule, wording)
    set_rules(held, [rule])
    return rule


@transaction.atomic
def change_rule(rule: Rule, wording: Wording, *, seen: str) -> Rule:
    """Give a rule another wording; its key stays. Raises Stale unless it still is what was `seen`."""
    held = SchoolYear.objects.select_for_update().get(pk=rule.year_id)
    now = Rule.objects.filter(pk=rule.pk).first()
    if now is None:
        raise Stale("Somebody retired this rule while you were at it. Nothing was changed.")
    if state_of(now) != seen:
        raise Stale("Somebody changed this rule while you were at it. Nothing was overwritten.")
    if wording_of(now) == wording:
        return now
    _say(now, wording)
    set_rules(held, [now])
    return now


def _say(rule: Rule, wording: Wording) -> None:
    for name, value in asdict(wording).items():
        setattr(rule, name, value)
    rule.grades = list(wording.grades)


@transaction.atomic
def retire_rule(rule: Rule) -> None:
    """Take a rule, and with it its readings, away. What it said stays in the trail."""
    begin_year_change(rule.year_id)
    rule.delete()


@transaction.atomic
def retire_rules(year: SchoolYear, ids: Collection[int]) -> list[str]:
    """Take several rules of a year away; the names of those that were still there."""
    held = SchoolYear.objects.select_for_update().get(pk=year.pk)
    gone = list(Rule.objects.filter(year=held, pk__in=ids).order_by("pk"))
    if gone:
        begin_year_change(held.pk)
        Rule.objects.filter(pk__in=[rule.pk for rule in gone]).delete()
    return [rule.name for rule in gone]


@transaction.atomic
def bring_back(year: SchoolYear, pk: int) -> Rule:
    """Put a retired rule of the year back as it was last; called twice, it changes nothing more.

    Raises RuleBroken where another rule has its key by now, or the trail knows no such rule.
    """
    held = SchoolYear.objects.select_for_update().get(pk=year.pk)
    there = Rule.objects.filter(year=held, pk=pk).first()
    if there is not None:
        return there
    last = last_of(held, pk)
    if last is None:
        raise RuleBroken("That rule is not in the trail of this year any more: write it anew.")
    if Rule.objects.filter(year=held, key=last.key).exists():
        raise RuleBroken(f"{last.name} is here again already, under the same key: retire that one first.")
    rule = Rule(pk=pk, year=held, key=last.key)
    _say(rule, wording_of(last))
    set_rules(held, [rule])
    return rule
