"""Who teaches a class: putting somebody on, dates, taking off, handing over."""

from collections.abc import Mapping
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from teamroom.common.clock import said_date
from teamroom.common.forms import EditForm, attempt
from teamroom.common.http import UNPROCESSABLE
from teamroom.members.access import year_place
from teamroom.members.class_access import classroom_for, teaching_for
from teamroom.members.forms.teams import HandOverForm, PutOnForm, TakeOffForm, TeachingDatesForm
from teamroom.members.models import Classroom, ClassTeacher
from teamroom.members.selectors.class_teaching import dates_said, may_take_class, teaching_lines
from teamroom.members.services import teaching
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.members.year_pages import year_page

form_methods = require_http_methods(["GET", "HEAD", "POST"])


@require_safe
@signed_in
def teachers(request: MemberRequest, classroom: int) -> HttpResponse:
    """Everybody who teaches, will teach or has taught a class, with the verbs on each."""
    room = classroom_for(request.user, classroom, "manage team")
    context = {"room": room, "lines": teaching_lines(room), "here": "teams"}
    return year_page(request, year_place(request.user, room.year), "members/class_teachers.html", context)


@form_methods
@signed_in
def put_on(request: MemberRequest, classroom: int) -> HttpResponse:
    """Give a class to a member of its team, beside those who have it."""
    room = classroom_for(request.user, classroom, "manage team")
    people = may_take_class(room)
    form = PutOnForm(request.POST if request.method == "POST" else None, people=people)
    if request.method == "POST":
        dates = ("first_day", "last_day")
        done = attempt(
            form, lambda: teaching.put_on(room, form.chosen, **{name: form.cleaned_data[name] for name in dates})
        )
        if done is not None:
            messages.success(request, f"{done.member} teaches {room} {dates_said(done)}.")
            return redirect(_teachers(room))
    context = {"heading": f"Put a teacher on {room}", "send": "Put on the class", "nobody": not people}
    return _form_page(request, room, form, context)


@form_methods
@signed_in
def change_dates(request: MemberRequest, pk: int) -> HttpResponse:
    """From when to when somebody teaches a class."""
    found = teaching_for(request.user, pk, "manage team")
    told = {"first_day": found.first_day, "last_day": found.last_day}
    form = TeachingDatesForm(request.POST if request.method == "POST" else None, initial=told)
    if request.method == "POST":
        done = attempt(form, lambda: teaching.change_dates(found, **form.cleaned_data))
        if done is not None:
            messages.success(request, f"{found.member} teaches {found.classroom} {dates_said(done)}.")
            return redirect(_teachers(found.classroom))
    context = {"heading": f"When {found.member} teaches {found.classroom}", "send": "Save the dates"}
    return _form_page(request, found.classroom, form, context)


@form_methods
@signed_in
def take_off(request: MemberRequest, pk: int) -> HttpResponse:
    """The last day of somebody who leaves a class, or no trace of them on it."""
    found = teaching_for(request.user, pk, "manage team")
    form = TakeOffForm(request.POST if request.method == "POST" else None, initial=_today_in_year(found))
    if request.method == "POST":
        done = attempt(form, lambda: teaching.take_off(found, last_day=form.cleaned_data["last_day"]))
        if done is not None:
            last = form.cleaned_data["last_day"]
            until = f"has {found.classroom} until {said_date(last)}" if last else f"is off {found.classroom}"
            messages.success(request, f"{found.member} {until}.")
            return redirect(_teachers(found.classroom))
    context = {"heading": f"Take {found.member} off {found.classroom}", "send": "Take off the class"}
    return _form_page(request, found.classroom, form, context)


@form_methods
@signed_in
def hand_over(request: MemberRequest, pk: int) -> HttpResponse:
    """Hand a class from one teacher to another from a date."""
    found = teaching_for(request.user, pk, "manage team")
    people = [pair for pair in may_take_class(found.classroom) if pair[0].pk != found.member_id]
    form = HandOverForm(request.POST if request.method == "POST" else None, people=people)
    if request.method == "POST":
        done = attempt(form, lambda: teaching.hand_over(found, form.chosen, from_day=form.cleaned_data["from_day"]))
        if done is not None:
            messages.success(request, _handed_over(found, done))
            return redirect(_teachers(found.classroom))
    context = {
        "heading": f"Hand {found.classroom} over from {found.member}",
        "send": "Hand the class over",
        "nobody": not people,
        "leaving": found.member,
    }
    return _form_page(request, found.classroom, form, context)


def _handed_over(leaving: ClassTeacher, following: ClassTeacher) -> str:
    assert following.first_day is not None and leaving.last_day is not None  # noqa: S101 - handing over gives both
    return (
        f"{following.member} has {leaving.classroom} from {said_date(following.first_day)}; "
        f"{leaving.member}\N{RIGHT SINGLE QUOTATION MARK}s last day with it is {said_date(leaving.last_day)}."
    )


def _today_in_year(found: ClassTeacher) -> dict[str, Any]:
    """Today as the last day, where it is a day that could be."""
    year = found.classroom.year
    today = year.school.today()
    return {"last_day": today} if max(year.first_day, found.first_day or today) <= today <= year.last_day else {}


def _teachers(room: Classroom) -> str:
    return reverse("members:class-teachers", args=[room.pk])


def _form_page(request: MemberRequest, room: Classroom, form: EditForm, context: Mapping[str, Any]) -> HttpResponse:
    status = UNPROCESSABLE if form.is_bound and form.errors else 200
    told = {"form": form, "room": room, "back": _teachers(room), "here": "teams", **context}
    place = year_place(request.user, room.year)
    return year_page(request, place, "members/class_teacher_form.html", told, status=status)
