"""The steps of setting a school year up, in the order in which each rests on those before it. No state of its own."""

from dataclasses import dataclass

from django.urls import NoReverseMatch, reverse


@dataclass(frozen=True)
class Step:
    """A step and the page that serves it, now and all year. `also` are pages that belong to it."""

    key: str
    title: str
    page: str
    also: tuple[str, ...] = ()

    def address(self, year: int) -> str:
        """Where it is done; '' while its page does not exist."""
        try:
            return reverse(self.page, args=[year])
        except NoReverseMatch:
            return ""


STEPS = (
    Step("dates", "School and year dates", "scheduling:year-dates"),
    Step("closures", "Closures", "scheduling:closures"),
    Step("kinds", "Day kinds, standing days and the cycle", "scheduling:day-kinds"),
    Step("activities", "Activities", "scheduling:activities"),
    Step("bells", "Bell schedules", "scheduling:bells"),
    Step("rules", "Rules", "scheduling:rules", ("scheduling:rule-library",)),
    Step("teams", "Teams and classrooms", "members:teams"),
    Step("people", "People", "members:people"),
)
"""The first week of a classroom comes after them; it is no page of the year."""


def around(page: str) -> tuple[Step | None, Step | None] | None:
    """The steps before and after the one that a page belongs to; None for a page of no step.

    After the last comes None too: what is left then is the list itself.
    """
    for place, step in enumerate(STEPS):
        if page == step.page or page in step.also:
            before = STEPS[place - 1] if place else None
            after = STEPS[place + 1] if place + 1 < len(STEPS) else None
            return before, after
    return None
