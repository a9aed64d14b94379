"""What people send from a rule's form, and what came of it."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.test import Client
from django.urls import reverse

from scheduling.forms.rules.typed import body_posted
from scheduling.forms.rules.writing import body_shown
from scheduling.models import Reading, Rule
from scheduling.services.compliance import recompute
from teamroom.dates.models import SchoolYear
from tests.factories import begin

MATH = {"activities": ["math"], "amount": "150"}
Sent = dict[str, str | Sequence[str]]


def sent(name: str, *parts: Mapping[str, Any], grades: str = "4", join: str = "all", **more: str) -> Sent:
    """A form filled in by hand: each part by its field names without the prefix."""
    told: Sent = {"name": name, "grades": grades, "standing": "school", "proof": "week", "join": join, **more}
    told["part"] = [str(number) for number in range(len(parts))]
    for number, part in enumerate(parts):
        for field, value in {"counts": "of", "test": "at_least", "window": "week", **part}.items():
            told[f"p{number}-{field}"] = value
    return told


def of_body(name: str, body: Mapping[str, Any], **more: Any) -> Sent:
    """The form as it shows a body, sent as it is."""
    told = {"name": name, "grades": "4", "standing": "school", "proof": "week", **more}
    return {**told, **body_posted(body_shown(body))}


def add_at(year: SchoolYear) -> str:
    return reverse("scheduling:rule-add", args=[year.pk])


def at(name: str, rule: Rule) -> str:
    return reverse(f"scheduling:{name}", args=[rule.year_id, rule.pk])


def added(client: Client, year: SchoolYear, told: Mapping[str, Any]) -> Rule:
    """The rule that a sent form became; its refusals are told where it did not."""
    before = set(Rule.objects.values_list("pk", flat=True))
    answer = client.post(add_at(year), told)
    assert answer.status_code == 302, answer.context["form"].faults + answer.context["form"].missing
    return Rule.objects.exclude(pk__in=before).get()


def stored(rule: Rule) -> dict[tuple[int, int | None], tuple[Any, ...]]:
    """Each classroom's stored readings of a rule, by classroom and part."""
    rows = Reading.objects.filter(rule=rule)
    return {(row.classroom_id, row.part): (row.status, row.required, row.planned, row.margin) for row in rows}


def differs_from_scratch(year: SchoolYear) -> bool:
    return bool(recompute(begin(year), from_scratch=True))
