"""What a block needs of what classes share, in rows as typed, so that a refusal loses nothing."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import zip_longest

from django import forms

from scheduling.selectors.year_words import ResourceWords
from teamroom.common.forms import EditForm

EMPTY_ROWS = 2


@dataclass(frozen=True)
class UseRow:
    """One row as typed, so that it can be shown again."""

    resource: str
    amount: str


class UsesForm(EditForm):
    """A form with rows of what is needed. `resources` are to be set when it is made; without any it has no rows."""

    uses = forms.Field(required=False, label="Needs")
    resources: Sequence[ResourceWords] = ()

    @property
    def use_rows(self) -> list[UseRow]:
        """The rows as typed, or those it starts with, with empty ones to fill while there is more to need."""
        if self.is_bound:
            rows = self._typed_uses()
        else:
            rows = [UseRow(str(pk), str(amount)) for pk, amount in self.initial.get("uses", ())]
        return rows + [UseRow("", "")] * min(EMPTY_ROWS, max(0, len(self.resources) - len(rows)))

    @property
    def counts_uses(self) -> bool:
        """Whether there is anything of which a block could need more than one."""
        return any(one.capacity > 1 for one in self.resources)

    @property
    def says_uses(self) -> bool:
        """Whether what was sent speaks of it at all: a page without these rows leaves what a block needs as it is."""
        return "use_resource" in self.data

    def _typed_uses(self) -> list[UseRow]:
        getlist = getattr(self.data, "getlist", None)
        names, amounts = (
            getlist(name) if getlist else self.data.get(name, []) for name in ("use_resource", "use_amount")
        )
        pairs = zip_longest(names, amounts, fillvalue="")
        return [UseRow(name, amount.strip()) for name, amount in pairs if name]

    def clean_uses(self) -> tuple[tuple[int, int], ...]:
        """Ids with how many, in order of the ids."""
        names = {str(one.pk): one.name for one in self.resources}
        found = []
        for row in self._typed_uses():
            if row.resource not in names:
                raise forms.ValidationError("Choose among what this school’s classes share.")
            amount = row.amount or "1"
            if not (amount.isascii() and amount.isdigit() and len(amount) <= 4 and int(amount)):
                raise forms.ValidationError(f"Say how many of {names[row.resource]} it needs: 1 or more.")
            found.append((int(row.resource), int(amount)))
        return tuple(sorted(found))
