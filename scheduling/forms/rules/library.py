"""Taking rules out of the library: which, for which grades, and what the school calls their activities."""

from collections.abc import Sequence
from typing import Any

from django import forms

from scheduling.forms.rules.rule import GradesField
from scheduling.rule_library.library import Jurisdiction
from scheduling.selectors.rule_library_page import LibraryLine, LibraryPage, LibrarySection, NameLine
from scheduling.selectors.year_words import YearWords
from teamroom.common.forms import EditForm

MAP = "map-"


class AdoptForm(EditForm):
    """Ticks, grades and names. `place` is the jurisdiction; an activity without a name of the school's is created."""

    place = forms.CharField(max_length=20, widget=forms.HiddenInput)
    grades = GradesField(
        label="For grades",
        max_length=300,
        help_text="As in K, 1 or 3-5. Each rule is taken for those of its grades that you name.",
        error_messages={"required": "Say for which grades, as in 3-5."},
    )
    rule = forms.MultipleChoiceField(error_messages={"required": "Tick the rules to adopt."})

    def __init__(
        self,
        data: Any,
        *,
        page: LibraryPage,
        names: Sequence[NameLine],
        words: YearWords,
        grades: Sequence[str],
    ) -> None:
        first = {"place": page.place.key, "grades": ", ".join(grades), "rule": page.offered}
        super().__init__(data, initial=first)
        self.page, self.names = page, names
        rules: Any = self.fields["rule"]
        rules.choices = [(rule.key, rule.name) for rule in page.place.rules]
        field: Any = self.fields["grades"]
        field.also = tuple(grades)
        own = [(key, activity.name) for key, activity in words.by_key.items()]
        for line in names:
            create = [] if line.same else [("", f"add it as {line.name}")]
            self.fields[MAP + line.key] = forms.ChoiceField(
                label=line.name, choices=[*create, *own], required=False, initial=line.school
            )

    @property
    def ticked(self) -> set[str]:
        """The keys of the rules ticked, as sent or at first."""
        return set(self["rule"].value() or ())

    @property
    def wanting(self) -> str:
        """What is still to be said before there is anything to show; '' where nothing is."""
        if not (self["grades"].value() or "").strip():
            return "Say for which grades, and here stands what adopting the ticked rules does."
        return "" if self.ticked else "Tick rules, and here stands what adopting them does."

    @property
    def differing(self) -> list[forms.BoundField]:
        """The activities that the school has under no such key, which want a look."""
        return [self[MAP + line.key] for line in self.names if not line.same]

    @property
    def agreeing(self) -> list[forms.BoundField]:
        return [self[MAP + line.key] for line in self.names if line.same]

    @property
    def sections(self) -> list[tuple[LibrarySection, list[tuple[LibraryLine, bool]], bool]]:
        """Each section with its rules and their ticks, and whether it is to stand open."""
        ticked, found = self.ticked, []
        for section in self.page.sections:
            lines = [(line, line.rule.key in ticked) for line in section.lines]
            found.append((section, lines, any(tick for _, tick in lines)))
        return found

    @property
    def asked(self) -> dict[str, Any]:
        """What adopting is asked for, as the service takes it."""
        told = self.cleaned_data
        chosen = {line.key: told[MAP + line.key] for line in self.names}
        place: Jurisdiction = self.page.place
        return {
            "place": place,
            "grades": told["grades"],
            "only": told["rule"],
            "names": {key: own for key, own in chosen.items() if own and own != key},
        }
