"""Addresses of signing in and out."""

from django.urls import path

from teamroom.members import views

app_name = "members"

urlpatterns = [
    path("sign-in/", views.SignIn.as_view(), name="sign-in"),
    path("sign-out/", views.SignOut.as_view(), name="sign-out"),
]
