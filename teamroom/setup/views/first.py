"""The first administrator: by the link that the console printed."""

from django.contrib.auth import login
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.cache import add_never_cache_headers
from django.views.decorators.http import require_http_methods

from teamroom.common.forms import attempt
from teamroom.common.http import UNPROCESSABLE
from teamroom.members.models import Member
from teamroom.members.services.first_administrator import become_first, open_first
from teamroom.setup.forms.first import FirstForm


@require_http_methods(["GET", "HEAD", "POST"])
def first(request: HttpRequest, token: str) -> HttpResponse:
    """A form that makes whoever holds the link the first administrator, and signs them in."""
    if not open_first(token):
        return render(request, "setup/first_gone.html", status=404)
    form = FirstForm(request.POST or None)
    if request.method == "POST":
        form = FirstForm(request.POST)
        member = attempt(form, lambda: _become(form, token))
        if member is not None:
            login(request, member)
            return redirect("begin")
    response = render(request, "setup/first.html", {"form": form}, status=UNPROCESSABLE if form.errors else 200)
    add_never_cache_headers(response)
    return response


def _become(form: FirstForm, token: str) -> Member:
    given = form.cleaned_data
    return become_first(token, email=given["email"], name=given["name"], passphrase=given["passphrase"])
