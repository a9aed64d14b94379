"""The way from one step of setting a year up to the next, for the foot of each step's page."""

from typing import Any

from django import template

from teamroom.members.models import Member
from teamroom.setup.order import around

register = template.Library()


@register.inclusion_tag("_setup_next.html", takes_context=True)
def setup_next(context: template.Context) -> dict[str, Any]:
    """The steps before and after the page that is shown, while its year is being set up by who looks at it."""
    year, place, match = context.get("year"), context.get("place"), context["request"].resolver_match
    beside = around(match.view_name) if match else None
    if not (beside and year and year.being_set_up and place and place.may_set_up):
        return {}
    before, after = beside
    return {
        "year": year,
        "before": before and {"title": before.title, "to": before.address(year.pk)},
        "after": after and {"title": after.title, "to": after.address(year.pk)},
    }


@register.simple_tag
def nobody_yet() -> bool:
    """Whether the installation has no people, so that only the first administrator's link lets anybody in."""
    return not Member.objects.exists()
