"""Two people at one rule at the same moment: one of them wins, and nobody's words are half written."""

from dataclasses import replace

import pytest

from scheduling.models import Reading, Rule
from scheduling.services.rules import add_rule, bring_back, change_rule, retire_rule, state_of, wording_of
from teamroom.common.errors import Stale
from teamroom.dates.models import SchoolYear
from tests.at_once import at_once
from tests.factories import make_classroom, make_rule, make_year

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def year() -> SchoolYear:
    year = make_year()
    make_classroom(year)
    return SchoolYear.objects.get(pk=year.pk)


def test_of_two_changes_from_the_same_state_one_is_refused(year: SchoolYear) -> None:
    rule = make_rule(year, "math", {"pool": {"of": ["math"]}, "at_least": 150})
    seen, words = state_of(rule), wording_of(rule)
    mine, theirs = replace(words, name="Mine", note="mine"), replace(words, name="Theirs", note="theirs")
    refused = at_once(
        lambda: change_rule(rule, mine, seen=seen),
        lambda: change_rule(rule, theirs, seen=seen),
    )
    assert [type(error) for error in refused] == [Stale]
    assert wording_of(Rule.objects.get()) in (mine, theirs)


def test_a_rule_retired_meanwhile_is_not_written_again_by_a_change(year: SchoolYear) -> None:
    rule = make_rule(year, "math", {"pool": {"of": ["math"]}, "at_least": 150})
    seen, words = state_of(rule), wording_of(rule)
    retire_rule(Rule.objects.get())
    with pytest.raises(Stale, match="retired this rule while you were at it"):
        change_rule(rule, replace(words, name="Mine"), seen=seen)
    assert not Rule.objects.exists()


def test_two_rules_of_one_name_added_at_once_get_two_keys(year: SchoolYear) -> None:
    words = wording_of(Rule(name="Math", grades=["4"], body={"at_least": 1}))
    assert at_once(lambda: add_rule(year, words), lambda: add_rule(year, words)) == []
    assert set(Rule.objects.values_list("key", flat=True)) == {"math", "math-2"}


def test_a_rule_brought_back_twice_at_once_is_there_once(year: SchoolYear) -> None:
    pk = make_rule(year, "math", {"pool": {"of": ["math"]}, "at_least": 150}).pk
    retire_rule(Rule.objects.get())
    assert at_once(lambda: bring_back(year, pk), lambda: bring_back(year, pk)) == []
    assert Rule.objects.get().pk == pk
    assert Reading.objects.filter(part=None).count() == 1
