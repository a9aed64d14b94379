"""A week in a person's head: what each edit should come to, worked out minute by minute without the app."""

from collections.abc import Mapping
from dataclasses import dataclass, field

Value = tuple[str, int, int, str, tuple[tuple[str, int], ...], str]
"""A block: day, start, end, activity, credits, reason."""
Blocks = dict[int, Value]


class Refused(Exception):
    """The edit should not be done."""


class Stale(Refused):
    """The edit should not be done because somebody was first."""


@dataclass
class Record:
    member: int
    deed: str
    before: Blocks
    after: Blocks
    undoes: int | None = None
    undone: bool = False


@dataclass
class ModelWeek:
    """The blocks, at which revision each was last edited, and every edit so far. Revision 1 is the empty week."""

    blocks: Blocks = field(default_factory=dict)
    edited: dict[int, int] = field(default_factory=dict)
    records: list[Record] = field(default_factory=list)
    states: list[Blocks] = field(default_factory=lambda: [{}])

    @property
    def revision(self) -> int:
        return len(self.records) + 1

    def check(self, block: int, revision: int) -> Value:
        if block not in self.blocks:
            raise Stale
        if self.edited[block] != revision:
            raise Stale
        return self.blocks[block]

    def wanted(self, before: Mapping[int, Value], after: Mapping[int, Value]) -> Blocks:
        """The week with some blocks gone and others there; Refused if two would share a minute, or one is no block."""
        left = {pk: value for pk, value in self.blocks.items() if pk not in before}
        taken = {(value[0], minute) for value in left.values() for minute in range(value[1], value[2])}
        for day, start, end, _, credits, _ in after.values():
            minutes = {(day, minute) for minute in range(start, end)}
            if not 0 <= start < end <= 1440 or minutes & taken or sum(n for _, n in credits) > end - start:
                raise Refused
            taken |= minutes
        return left | dict(after)

    def record(self, record: Record) -> None:
        """Do an edit that was allowed."""
        self.blocks = self.wanted(record.before, record.after)
        if record.undoes is not None:
            self.records[record.undoes].undone = True
        self.records.append(record)
        self.edited = {pk: at for pk, at in self.edited.items() if pk in self.blocks}
        self.edited |= dict.fromkeys(record.after, self.revision)
        self.states.append(dict(self.blocks))

    def undoing(self, member: int) -> Record:
        """What undoing one's own last edit should do."""
        for place in reversed(range(len(self.records))):
            one = self.records[place]
            if one.member == member and one.deed != "undo" and not one.undone:
                return self._inverse(place, member, "undo")
        raise Refused

    def redoing(self, member: int) -> Record:
        """What redoing one's own last undoing should do: nothing, once one has edited afresh."""
        for place in reversed(range(len(self.records))):
            one = self.records[place]
            if one.member != member:
                continue
            if one.deed not in ("undo", "redo"):
                break
            if one.deed == "undo" and not one.undone:
                return self._inverse(place, member, "redo")
        raise Refused

    def _inverse(self, place: int, member: int, deed: str) -> Record:
        one = self.records[place]
        if any(self.blocks.get(pk) != value for pk, value in one.after.items()):
            raise Refused
        if any(pk in self.blocks for pk in one.before if pk not in one.after):
            raise Refused
        self.wanted(one.after, one.before)
        return Record(member, deed, one.after, one.before, undoes=place)

    def restoring(self, revision: int, member: int) -> Record:
        """What putting the week back as it was at a revision should do."""
        was = self.states[revision - 1]
        before = {pk: value for pk, value in self.blocks.items() if was.get(pk) != value}
        after = {pk: value for pk, value in was.items() if self.blocks.get(pk) != value}
        if not before and not after:
            raise Refused
        return Record(member, "restore", before, after)
