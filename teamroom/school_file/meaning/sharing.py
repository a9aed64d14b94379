"""What classrooms share: resources and who uses them, and blocks that a team holds together."""

from collections.abc import Iterator, Mapping
from typing import Any

from teamroom.dates.calendar_maths import REGULAR
from teamroom.school_file.faults import Fault, Place, json_path, shown
from teamroom.school_file.form import Document, Form
from teamroom.school_file.meaning.ground import Ground, each, said_twice

Capacities = Mapping[str, int]
"""How many classes can have each shared resource at once, by its key."""


def resource_faults(sound: Document) -> Iterator[Fault]:
    yield from said_twice(("shared_resources",), sound.get("shared_resources"), "key", "a shared resource")


def capacities(form: Form) -> Capacities:
    """The capacities that can be read; of a key that is given twice, the first."""
    found: dict[str, int] = {}
    for n, resource in each(form.sound.get("shared_resources")):
        if "key" in resource and ("shared_resources", n, "capacity") not in form.places:
            found.setdefault(resource["key"], resource.get("capacity", 1))
    return found


def use_faults(place: Place, block: Document, resources: Capacities, ground: Ground) -> Iterator[Fault]:
    """What is wrong with what a block uses."""
    where = (*place, "uses")
    for n, use in each(block.get("uses")):
        resource, amount = use.get("resource"), use.get("amount", 1)
        yield from ground.resources.unknown((*where, n, "resource"), resource)
        most = resources.get(resource, amount)
        if amount > most:
            sentence = f"{shown(resource)} has room for {most}, not for {amount}: use less, or give it more capacity."
            yield Fault((*where, n, "amount"), sentence)
    yield from said_twice(where, block.get("uses"), "resource", "used")


def team_block_faults(form: Form) -> Iterator[Fault]:
    """Blocks of one key are of one team and alike in all but what they use."""
    teams = {room.get("key"): room.get("team") for _, room in each(form.sound.get("classrooms"))}
    first: dict[str, tuple[Place, Any, tuple[Any, ...]]] = {}
    for place, week, column, block in _blocks(form):
        key = block["team_block"]
        team, held = teams.get(week.get("classroom")), _in_common(column, block)
        there, its_team, alike = first.setdefault(key, (place, team, held))
        if team != its_team and None not in (team, its_team):
            sentence = f"{shown(key)} is a team block of {shown(its_team)}, at {json_path(there)}: give a block of"
            yield Fault((*place, "team_block"), f"{sentence} another team another one.")
        elif held != alike:
            sentence = f"This differs from the same team block at {json_path(there)}: make both alike but for what they"
            yield Fault((*place, "team_block"), f"{sentence} use, or give one another team_block.")


def _blocks(form: Form) -> Iterator[tuple[Place, Document, Document, Document]]:
    """Each sound block that is a team block, with its place, week and column."""
    for n, week in each(form.sound.get("weeks")):
        malformed = form.below(("weeks", n))
        for c, column in each(week.get("columns")):
            for b, block in each(column.get("blocks")):
                inside: Place = ("columns", c, "blocks", b)
                told = (inside, ("columns", c, "day"), ("columns", c, "kind"))
                if "team_block" in block and not any(at[: len(part)] == part for at in malformed for part in told):
                    yield ("weeks", n, *inside), week, column, block


def _in_common(column: Document, block: Document) -> tuple[Any, ...]:
    credits = [(credit["activity"], credit["minutes"]) for credit in block.get("credits", ())]
    place = (column.get("day", ""), column.get("kind", REGULAR))
    return (*place, block["start"], block["end"], block["activity"], block.get("why", ""), credits)
