"""What was loaded, in a sentence."""

from teamroom.common.wording import counted
from teamroom.school_file.form import Document
from teamroom.school_file.loading import Loaded

COUNTED = ("classroom", "week", "rule", "day change")


def said_loaded(document: Document, loaded: Loaded) -> str:
    """`Loaded Fernhollow Elementary, 2026-27: 2 classrooms, 1 week, 9 rules, 0 day changes.`"""
    return f"Loaded {loaded.year.school.name}, {loaded.year.name}: {said_counts(document)}."


def said_counts(document: Document) -> str:
    return ", ".join(counted(len(document.get(f"{thing.replace(' ', '_')}s", ())), thing) for thing in COUNTED)
