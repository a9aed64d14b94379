"""Addresses of signing in and out."""

from django.urls import path

from teamroom.members.views import signing_in

app_name = "members"

urlpatterns = [
    path("sign-in/", signing_in.SignIn.as_view(), name="sign-in"),
    path("sign-out/", signing_in.SignOut.as_view(), name="sign-out"),
]
