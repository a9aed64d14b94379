"""Signing in and out."""

from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpResponse

from teamroom.common.http import UNPROCESSABLE
from teamroom.members.forms.signing_in import SignInForm


class SignIn(LoginView):
    """Django's own sign-in, with its check that `next` stays on this host."""

    template_name = "members/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True

    def form_invalid(self, form: SignInForm) -> HttpResponse:  # type: ignore[override]  # this view's own form
        return self.render_to_response(self.get_context_data(form=form), status=UNPROCESSABLE)


class SignOut(LogoutView):
    """Django's own sign-out, by POST only."""

    next_page = "members:sign-in"
