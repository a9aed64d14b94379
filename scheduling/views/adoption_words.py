"""What adopting rules does to a year, in words."""

from collections.abc import Sequence
from dataclasses import dataclass

from scheduling.minutes.figures import listed
from scheduling.rule_library.library import activity_names
from scheduling.selectors.rule_outcomes import failing, standings_of
from scheduling.selectors.year_words import YearWords
from scheduling.services.rule_adoption import Adoption, Caution
from teamroom.common.wording import counted
from teamroom.dates.grades import said_grades
from teamroom.dates.models import SchoolYear

MOST_NAMED = 3


@dataclass(frozen=True)
class AdoptionSaid:
    """Each rule as its name and what happens to it; activities and cautions as sentences."""

    added: Sequence[tuple[str, str]]
    widened: Sequence[tuple[str, str]]
    unchanged: Sequence[tuple[str, str]]
    left_out: Sequence[tuple[str, str]]
    created: str
    cautions: Sequence[str]

    @property
    def summary(self) -> str:
        changes = [(len(self.added), "added"), (len(self.widened), "given more grades")]
        told = [f"{counted(number, 'rule')} {what}" for number, what in changes if number]
        return f"{listed(told)}." if told else "Nothing changes: the year has all of these already."


def adoption_said(planned: Adoption, words: YearWords) -> AdoptionSaid:
    """What is planned, for somebody who is about to say yes."""
    unproved = ", which a week cannot prove"
    return AdoptionSaid(
        added=[
            (rule.name, said_grades(rule.grades) + (unproved if rule.not_checkable else "")) for rule in planned.added
        ],
        widened=[(rule.name, f"now also for {said_grades(more)}") for rule, more in planned.widened],
        unchanged=[(rule.name, f"yours already, for {said_grades(rule.grades)}") for rule in planned.unchanged],
        left_out=[(rule.name, reason) for rule, reason in planned.left_out],
        created=listed(list(planned.created.values())),
        cautions=list(dict.fromkeys(_caution(caution, words) for caution in planned.cautions)),
    )


def _caution(caution: Caution, words: YearWords) -> str:
    more = listed([activity_names()[key].lower() for key in caution.uncounted], "or")
    school = words.by_key[caution.school].name if caution.school in words.by_key else caution.school
    return f"{caution.rule.name} does not count {more}, yet your {school} holds it too: it may look met when it is not."


def adopted_said(year: SchoolYear, done: Adoption) -> str:
    """What was adopted, and how many classrooms meet it now."""
    touched = [*done.added, *(rule for rule, _ in done.widened)]
    if not touched:
        return "Nothing changed: the year has all of these already."
    said = [f"{counted(len(done.added), 'rule')} added"] if done.added else []
    said += [f"{counted(len(done.widened), 'rule')} given more grades"] if done.widened else []
    rooms = year.classrooms.filter(retired=False).order_by("name", "key")
    standings = standings_of(rooms, {rule.pk for rule in touched})
    asked = {one.pk for some in standings.values() for one in some}
    short = {one.pk for some in standings.values() for one in failing(some)}
    created = f" New activities: {listed(list(done.created.values()))}." if done.created else ""
    if not asked:
        return f"{listed(said)}.{created} No classroom is in these grades yet."
    meet = len(asked) - len(short)
    told = (
        f"{meet} of {counted(len(asked), 'classroom')} {'meets' if meet == 1 else 'meet'} all that these ask of it now."
    )
    return f"{listed(said)}.{created} {told}"
