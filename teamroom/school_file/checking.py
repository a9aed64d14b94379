"""All faults of a school file in one go, in the order of the file; or the document, sound."""

from collections.abc import Iterator
from itertools import chain

from teamroom.school_file.faults import Fault, FileRefused, Place
from teamroom.school_file.form import Document, Form, held_to_form
from teamroom.school_file.meaning.bells import activity_faults, bell_faults
from teamroom.school_file.meaning.calendar import calendar_faults
from teamroom.school_file.meaning.day_changes import day_change_faults
from teamroom.school_file.meaning.ground import Ground, ground_of
from teamroom.school_file.meaning.places import team_faults, week_faults
from teamroom.school_file.meaning.rules import rule_faults
from teamroom.school_file.meaning.sharing import resource_faults, team_block_faults
from teamroom.school_file.reading import text_faults


def sound_document(document: Document) -> Document:
    """The document with empty optional texts left out, fit to be loaded.

    Raises FileRefused with every fault of form and meaning.
    """
    faults, sound = checked(document)
    if faults:
        raise FileRefused(faults)
    return sound


def checked(document: Document) -> tuple[list[Fault], Document]:
    """Every fault of a document, and what of it is well-formed."""
    unreadable = text_faults(document)
    form = held_to_form(document)
    by_place: dict[Place, Fault] = {}
    for fault in chain(unreadable, form.faults, _meaning_faults(form, ground_of(form))):
        by_place.setdefault(fault.place, fault)
    return _in_file_order(list(by_place.values()), document), form.sound


def _meaning_faults(form: Form, ground: Ground) -> Iterator[Fault]:
    yield from calendar_faults(form.sound, ground)
    yield from activity_faults(form.sound, ground)
    yield from resource_faults(form.sound)
    yield from bell_faults(form.sound, ground)
    yield from rule_faults(form, ground)
    yield from team_faults(form.sound, ground)
    yield from week_faults(form, ground)
    yield from team_block_faults(form)
    yield from day_change_faults(form, ground)


def _in_file_order(faults: list[Fault], document: Document) -> list[Fault]:
    """Faults as somebody who reads the file from the top meets them; what is missing comes last."""
    places_of: dict[Place, dict[str, int]] = {}

    def order(fault: Fault) -> tuple[int, ...]:
        found: list[int] = []
        held: object = document
        for depth, step in enumerate(fault.place):
            if isinstance(step, int):
                found.append(step)
                held = held[step] if isinstance(held, list) else None
            else:
                keys = held if isinstance(held, dict) else {}
                above = fault.place[:depth]
                if above not in places_of:
                    places_of[above] = {key: n for n, key in enumerate(keys)}
                found.append(places_of[above].get(step, len(keys)))
                held = keys.get(step)
        return tuple(found)

    return sorted(faults, key=order)
