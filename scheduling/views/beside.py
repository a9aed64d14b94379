"""A week held beside others: another week, or the rules of a grade. Nothing is written."""

from django.http import Http404, HttpResponse
from django.views.decorators.http import require_safe

from scheduling import access
from scheduling.selectors.beside import against_grade, choices_beside, comparable, grades_beside
from scheduling.selectors.compare import comparison_of
from scheduling.selectors.year_grades import grades_of
from scheduling.services import drafts
from scheduling.views.answers import week_url
from teamroom.dates.grades import said_grades
from teamroom.members.access import year_place
from teamroom.members.selectors.readable import readable_of_school
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.members.year_pages import year_page


@require_safe
@signed_in
def choose(request: MemberRequest, week: int) -> HttpResponse:
    """What a week can be held beside: the weeks of the school that the reader may read, and each grade's rules."""
    found = access.week_for_reading(request.user, week)
    year = found.classroom.year
    place = year_place(request.user, year)
    rooms = readable_of_school(year, request.user, place.roles)
    context = {
        "week": found,
        "groups": choices_beside(found, rooms),
        "grades": [(grade, said_grades([grade])) for grade in grades_of(year)],
        "back": week_url(found),
    }
    return year_page(request, place, "scheduling/week_beside.html", context)


@require_safe
@signed_in
def compare(request: MemberRequest, week: int, other: int) -> HttpResponse:
    """Two weeks of a school side by side: their shapes, the minutes of each, and their blocks."""
    found, beside = (access.week_for_reading(request.user, pk) for pk in (week, other))
    if not comparable(found, beside):
        raise Http404
    here, there = drafts.all_year(found), drafts.all_year(beside)
    moved = None if here.same_rules_as(there) else drafts.in_place_of(there, here)
    first, second = grades_beside(found, beside)
    context = {
        "week": found,
        "other": beside,
        "told": comparison_of(here, there, moved),
        "first_against": [(grade, said_grades([grade])) for grade in first],
        "second_against": [(grade, said_grades([grade])) for grade in second],
        "back": week_url(found),
    }
    return year_page(request, year_place(request.user, found.classroom.year), "scheduling/week_compare.html", context)


@require_safe
@signed_in
def against(request: MemberRequest, week: int, grade: str) -> HttpResponse:
    """What a week would give by the rules of a grade of its year, with what is missing, and the week's shape."""
    found = access.week_for_reading(request.user, week)
    grades = grades_of(found.classroom.year)
    if grade not in grades:
        raise Http404
    side = drafts.all_year(found, [grade])
    context = {
        "week": found,
        "said": side.said,
        "told": against_grade(side),
        "grades": [(one, said_grades([one]), one == grade) for one in grades],
        "back": week_url(found),
    }
    return year_page(request, year_place(request.user, found.classroom.year), "scheduling/week_against.html", context)
