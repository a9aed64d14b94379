"""A proposed week looked at before anything of it is written: what it would do to the readings, and how it stands
beside the week it started from."""

import datetime as dt
from dataclasses import replace

from scheduling.minutes.plan import Block, Column, Credit, Version
from scheduling.models import Fitting, Week
from scheduling.selectors.compare import Comparison, comparison_of
from scheduling.selectors.days_drawn import DaysDrawn, days_drawn
from scheduling.selectors.fitting_ground import FittingGround
from scheduling.selectors.plans import plans_of
from scheduling.selectors.preview_words import Preview, PreviewTold, preview_told
from scheduling.selectors.sides import Side
from scheduling.selectors.year_inputs import year_inputs
from scheduling.selectors.year_words import year_words
from scheduling.services.compliance import differences, stored_readings, wanted_readings
from scheduling.services.drafts import all_year, in_place_of, side_of
from scheduling.services.fitting_work import Way
from scheduling.services.prepared import shown


def columns_of(way: Way) -> tuple[Column, ...]:
    """The columns of a week that was found, its blocks under the ids of those they come from."""
    blocks: list[list[Block]] = [[] for _ in way["days"]]
    for one in way["blocks"]:
        number, start, end = one["place"]
        credits = tuple(Credit(activity, minutes) for activity, minutes in one["credits"])
        blocks[number].append(Block(start, end, one["activity"], credits, one["block"]))
    return tuple(
        Column(day or None, kind, tuple(sorted(held, key=lambda block: block.start)))
        for (day, kind), held in zip(way["days"], blocks, strict=True)
    )


def would_do(fitting: Fitting, number: int) -> PreviewTold:
    """What a week that was found would do to every reading of its classroom, if it were in effect from its date."""
    classroom, year = fitting.classroom, fitting.classroom.year
    inputs, words = year_inputs(year), year_words(year)
    plan = plans_of(inputs, [classroom])[classroom.pk]
    others = [version for version in plan.versions if version.starts != fitting.starts]
    version = Version(fitting.starts, columns_of(fitting.ways[number]))
    versions = tuple(sorted([*others, version], key=lambda one: one.starts))
    stored = stored_readings([classroom], None)[classroom.pk]
    wanted = wanted_readings(inputs, classroom, replace(plan, versions=versions), None, stored)
    pairs = differences(stored, wanted)
    preview = Preview(
        revision=year.revision,
        rooms={classroom.pk: str(classroom)},
        changes=tuple(shown(classroom.pk, pairs, lambda place: (stored.get(place), wanted.get(place)))),
        days_before=inputs.year.days,
        days_after=inputs.year.days,
        rules=words.rules,
        kinds=dict(words.kinds.values()),
    )
    return preview_told(preview, year)


def beside_its_source(fitting: Fitting, number: int) -> Comparison | None:
    """A week that was found beside the one it started from; one from nothing beside the classroom's own in effect on
    that date. None if there is no such week."""
    source = fitting.source
    if fitting.kind == "draft":
        source = FittingGround(fitting.classroom, fitting.starts).own.week
    if source is None:
        return None
    here, there = _alone(fitting, number), all_year(source)
    return comparison_of(here, there, None if here.same_rules_as(there) else in_place_of(there, here))


def drawn(fitting: Fitting, number: int) -> DaysDrawn:
    """The days of a week that was found, by themselves."""
    return days_drawn(_alone(fitting, number))


def _alone(fitting: Fitting, number: int) -> Side:
    """The week as if it were in effect all year."""
    words = year_words(fitting.classroom.year)
    plan = plans_of(words.inputs, [fitting.classroom])[fitting.classroom_id]
    week = Week(classroom=fitting.classroom, starts=fitting.starts, draft=True, draft_name="as proposed")
    version = Version(dt.date.min, columns_of(fitting.ways[number]))
    return side_of(week, words, replace(plan, versions=(version,)))
