"""School files over the screens: sent, asked about where they replace a year, loaded, and taken home again."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.text import slugify
from django.views.decorators.http import require_http_methods, require_safe

from teamroom.common.errors import RuleBroken
from teamroom.common.http import UNPROCESSABLE
from teamroom.common.uploads import was_too_large
from teamroom.members.access import require_in_district, year_for
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.members.year_pages import year_page
from teamroom.school_file.dumping import dumped
from teamroom.school_file.faults import Fault, FileRefused
from teamroom.school_file.form import Document
from teamroom.school_file.loading import Loaded
from teamroom.school_file.saying import said_counts, said_loaded
from teamroom.setup.forms.begin import TOO_LARGE, SchoolFileForm
from teamroom.setup.school_files import destination, load_for, packed, read_sound, replaced_by, unpacked

WAITING = "school file that waits for a yes"
MOST_FAULTS = 1000


@require_http_methods(["GET", "HEAD", "POST"])
@signed_in
def begin_file(request: MemberRequest) -> HttpResponse:
    """A school file for a school that is not here yet, or for one that the member administers."""
    require_in_district(request.user, "found school")
    form, faults, answer = _received(request)
    if answer is not None:
        return answer
    context = {"form": form, "back": reverse("begin"), **_shown(faults)}
    return render(request, "setup/file.html", context, status=UNPROCESSABLE if form.errors or faults else 200)


@require_http_methods(["GET", "HEAD", "POST"])
@signed_in
def year_file(request: MemberRequest, year: int) -> HttpResponse:
    """The same for the administrator of a school that is here."""
    place = year_for(request.user, year, "set up year")
    form, faults, answer = _received(request)
    if answer is not None:
        return answer
    context = {"form": form, "here": "setup", "back": reverse("setup", args=[year]), **_shown(faults)}
    status = UNPROCESSABLE if form.errors or faults else 200
    return year_page(request, place, "setup/year_file.html", context, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
@signed_in
def replace_year(request: MemberRequest) -> HttpResponse:
    """What a file that was just sent would replace, and doing it."""
    waiting = request.session.get(WAITING)
    if waiting is None:
        messages.error(request, "No file is waiting any more: send it again.")
        return redirect("home")
    document = read_sound(unpacked(waiting))
    if request.method == "POST":
        return _loaded(request, document, replace=True)
    try:
        year = destination(request.user, document).year
    except RuleBroken as refused:
        return _refused(request, refused)
    if year is None:
        return _loaded(request, document, replace=False)
    context = {"replaced": replaced_by(document, year), "counts": said_counts(document), "year": year}
    return render(request, "setup/replace.html", context)


@require_safe
@signed_in
def year_download(request: MemberRequest, year: int) -> HttpResponse:
    """The year as a school file."""
    found = year_for(request.user, year, "set up year").year
    name = f"{slugify(found.school.name)[:60] or 'school'}-{slugify(found.name) or 'year'}.json"
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return HttpResponse(dumped(found), content_type="application/json", headers=headers)


def _received(request: MemberRequest) -> tuple[SchoolFileForm, list[Fault], HttpResponse | None]:
    """The form and the file's faults to show; or the answer, where there is nothing to mend."""
    if request.method != "POST":
        return SchoolFileForm(), [], None
    form = SchoolFileForm(request.POST, request.FILES)
    if was_too_large(request):
        form.errors.clear()
        form.add_error("file", TOO_LARGE)
    if not form.is_valid():
        return form, [], None
    data = form.cleaned_data["file"].read()
    try:
        document = read_sound(data)
        year = destination(request.user, document).year
        if year is None:
            return form, [], _loaded(request, document, replace=False)
    except FileRefused as refused:
        return form, refused.faults, None
    except RuleBroken as refused:
        form.refuse(refused)
        return form, [], None
    request.session[WAITING] = packed(data)
    return form, [], redirect("replace-year")


def _loaded(request: MemberRequest, document: Document, *, replace: bool) -> HttpResponse:
    request.session.pop(WAITING, None)
    try:
        loaded = load_for(request.user, document, replace=replace)
    except RuleBroken as refused:
        return _refused(request, refused)
    _tell(request, document, loaded)
    return redirect("setup", loaded.year.pk)


def _tell(request: MemberRequest, document: Document, loaded: Loaded) -> None:
    messages.success(request, said_loaded(document, loaded))
    if loaded.replaced:
        messages.success(request, f"The year as it was before is kept on the server, in {loaded.replaced}.")


def _refused(request: MemberRequest, refused: RuleBroken) -> HttpResponse:
    request.session.pop(WAITING, None)
    messages.error(request, refused.message)
    return redirect("home")


def _shown(faults: list[Fault]) -> dict[str, object]:
    shown = [str(fault).split(": ", 1) for fault in faults[:MOST_FAULTS]]
    return {"faults": shown, "fault_count": len(faults), "more_faults": max(0, len(faults) - MOST_FAULTS)}
