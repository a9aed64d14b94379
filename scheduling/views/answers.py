"""What the views of an edit share: trying it, and answering with the sheet as it now is."""

import json
from collections.abc import Sequence
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from scheduling.models import Week, WeekChange
from scheduling.selectors.edit_clashes import clashes_said
from scheduling.selectors.edit_words import edit_said
from scheduling.selectors.ledger import Ledger, Pair, ledger_of, visibly
from scheduling.selectors.live_week import kept_places, topics_of
from scheduling.selectors.week_sheet import WeekSheet, sheet_of
from scheduling.selectors.year_words import YearWords
from scheduling.services import drafts
from scheduling.services.undoing import last_to_redo, last_to_undo
from scheduling.services.week_edits import Edit
from teamroom.common.forms import EditForm
from teamroom.common.http import CONFLICT, UNPROCESSABLE, is_fragment, page_or_fragment
from teamroom.members.signed_in import MemberRequest


def refused_status(form: EditForm) -> int:
    return CONFLICT if form.stale else UNPROCESSABLE


def form_answer(
    request: MemberRequest, template: str, week: Week, form: EditForm | None, context: dict[str, Any]
) -> HttpResponse:
    """A form as a page or in the panel; with 422 or 409 where it was sent and refused."""
    status = refused_status(form) if form is not None and form.is_bound else 200
    fragment = f"scheduling/_{template}.html"
    own = {"fragment": fragment, "form": form, "week": week, "back": week_url(week), "in_panel": is_fragment(request)}
    response = page_or_fragment(request, "scheduling/panel_page.html", fragment, {**own, **context}, status=status)
    # What the grid itself sends aims at the message line; a form belongs in the panel.
    response["HX-Retarget"] = "#panel-body"
    response["HX-Reswap"] = "innerHTML"
    return response


def refusal(
    request: MemberRequest, week: Week, sentence: str, status: int = UNPROCESSABLE, step_out: int | None = None
) -> HttpResponse:
    """A refusal without a form: in the message line, or there again after going back to the week.
    `step_out` is a team block that stepping out of would mend it."""
    if is_fragment(request):
        context = {"sentence": sentence, "step_out": step_out}
        return render(request, "scheduling/_refusal.html", context, status=status)
    messages.error(request, sentence)
    return redirect(week_url(week))


def week_url(week: Week, anchor: str = "") -> str:
    url = f"{reverse('scheduling:week', args=[week.classroom_id])}?week={week.pk}"
    return f"{url}#{anchor}" if anchor else url


def edited(request: MemberRequest, week: Week, edit: Edit) -> HttpResponse:
    """The sheet after an edit: for htmx only what changed, else back to the week with the message."""
    topics = topics_of(week.classroom)
    sheet = sheet_of(week)
    said = said_of(edit, sheet.words)
    column, at = _focus(sheet, edit.change)
    if not is_fragment(request):
        messages.success(request, said)
        return redirect(week_url(week, column))
    context = {"said": said, "sheet": sheet, "may_edit": True, "oob": True, "topics": topics}
    if "beside" in request.POST:
        # The team's week has no sheet of this one: it draws anew what it shows by itself.
        response = render(request, "scheduling/_edited_beside.html", {**context, **_to_undo(request, edit)})
    else:
        response = render(request, "scheduling/_edited.html", {**context, **_changed(request, sheet, edit)})
    response["HX-Retarget"] = "#said"
    response["HX-Reswap"] = "innerHTML"
    # Not after it has settled: a key pressed until then would find the focus nowhere, and be lost.
    response["HX-Trigger-After-Swap"] = json.dumps({"teamroom:edited": {"column": column, "at": at}})
    return response


def said_of(edit: Edit, words: YearWords) -> str:
    """What an edit did, here and in the other classrooms it was made in, and to what classes share."""
    elsewhere = [(str(one.classroom), one.readings.pairs) for one in edit.elsewhere]
    told = edit_said(edit.change, edit.readings.pairs, words, elsewhere)
    return " ".join((told, *clashes_said(edit.change, words)))


def _changed(request: MemberRequest, sheet: WeekSheet, edit: Edit) -> dict[str, Any]:
    """The columns and rules to draw anew; all of them for a page that had missed another edit."""
    ledger = shown_ledger(sheet, changes=edit.readings.pairs)
    told = {"ledger": ledger, **_to_undo(request, edit)}
    if not _follows(request, sheet):
        return {**told, "whole": True}
    places = [place for place, _ in kept_places(edit.change, sheet.words)]
    rules = {row.rule_id for pair in filter(visibly, edit.readings.pairs) for row in pair if row is not None}
    if sheet.week.draft:
        rules = set(ledger.rows)
    return {**told, "columns": sheet.columns_at(places), "entries": ledger.of_rules(rules)}


def shown_ledger(sheet: WeekSheet, *, changes: Sequence[Pair] = ()) -> Ledger:
    """The ledger beside a sheet: what is, or beside a draft what would be if it were in effect."""
    if sheet.week.draft:
        return ledger_of(sheet.classroom, sheet.words, would_be=drafts.would_be(sheet.week))
    return ledger_of(sheet.classroom, sheet.words, changes=changes)


def _to_undo(request: MemberRequest, edit: Edit) -> dict[str, WeekChange | None]:
    """What can be undone and done again now. A fresh edit is the one to undo, and ends what could be done again."""
    change = edit.change
    if change.undoes_id is None:
        return {"undoable": change, "redoable": None}
    return {
        "undoable": change if change.deed == "redo" else last_to_undo(change.week, request.user),
        "redoable": change if change.deed == "undo" else last_to_redo(change.week, request.user),
    }


def _follows(request: MemberRequest, sheet: WeekSheet) -> bool:
    """Whether the page showed the state just before this edit, so that what changed is enough."""
    seen = request.POST.get("seen"), request.POST.get("shape")
    return seen == (str(sheet.week.revision - 1), sheet.shape)


def _focus(sheet: WeekSheet, change: WeekChange) -> tuple[str, int]:
    """The column and minute where the edited block is, or was."""
    place, at = kept_places(change, sheet.words)[0]
    return sheet.column_at(place), at
