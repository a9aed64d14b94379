"""Questions on blocks: asking, answering, settling, and what waits for whom."""

from collections.abc import Callable

from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from scheduling import access
from scheduling.forms.questions import AnswerForm, QuestionForm
from scheduling.models import Question
from scheduling.selectors.block_words import block_words
from scheduling.selectors.edit_words import said_moment
from scheduling.selectors.questions import answers_of, own_questions, still_stands
from scheduling.services import questions
from scheduling.views.answers import form_answer, week_url
from teamroom.common.errors import RuleBroken
from teamroom.common.forms import EditForm, attempt
from teamroom.members.signed_in import MemberRequest, signed_in


@require_safe
@signed_in
def own(request: MemberRequest) -> HttpResponse:
    """The open questions that are one's own to answer, and those one has asked."""
    return render(request, "scheduling/questions.html", {"questions": own_questions(request.user)})


@require_http_methods(["GET", "HEAD", "POST"])
@signed_in
def ask(request: MemberRequest, block: int) -> HttpResponse:
    """Ask about a block."""
    with transaction.atomic():
        found = access.block_for_asking(request.user, block)
        form = QuestionForm(request.POST if request.method == "POST" else None)
        asked = attempt(form, lambda: questions.ask(found, member=request.user, text=form.cleaned_data["text"]))
    if asked:
        return redirect("scheduling:question", asked.pk)
    return form_answer(request, "block_ask", found.column.week, form, {"told": block_words(found)})


@require_safe
@signed_in
def question(request: MemberRequest, question: int) -> HttpResponse:
    """A question with its answers."""
    return _shown(request, access.question_for_reading(request.user, question), AnswerForm())


@require_POST
@signed_in
def answer(request: MemberRequest, question: int) -> HttpResponse:
    """Write under a question."""
    form = AnswerForm(request.POST)
    with transaction.atomic():
        found = access.question_for_answering(request.user, question)
        done = attempt(form, lambda: questions.answer(found, member=request.user, text=form.cleaned_data["text"]))
    return redirect("scheduling:question", found.pk) if done else _shown(request, found, form)


@require_POST
@signed_in
def settle(request: MemberRequest, question: int) -> HttpResponse:
    """Settle a question, or with `again` open it again."""
    with transaction.atomic():
        found = access.question_for_settling(request.user, question)
        if "again" in request.POST:
            _tried(request, lambda: questions.reopen(found))
        else:
            _tried(request, lambda: questions.settle(found, member=request.user))
    return redirect("scheduling:question", question)


@require_POST
@signed_in
def withdraw(request: MemberRequest, question: int) -> HttpResponse:
    """Take back a question that nobody has answered."""
    with transaction.atomic():
        found = access.question_for_withdrawing(request.user, question)
        done = _tried(request, lambda: questions.withdraw(found))
    return redirect(week_url(found.week)) if done else redirect("scheduling:question", question)


def _tried(request: MemberRequest, deed: Callable[[], None]) -> bool:
    try:
        with transaction.atomic():
            deed()
    except RuleBroken as broken:
        messages.error(request, broken.message)
        return False
    return True


def _shown(request: MemberRequest, question: Question, form: EditForm) -> HttpResponse:
    year = question.week.classroom.year
    answers = answers_of(question)
    context = {
        "question": question,
        "when": said_moment(question.asked_at, year),
        "settled": said_moment(question.settled_at, year) if question.settled_at else "",
        "answers": answers,
        "stands": still_stands(question),
        "may_settle": access.can_settle(request.user, question),
        "may_withdraw": question.asked_by_id == request.user.pk and not answers,
    }
    return form_answer(request, "question", question.week, form, context)
