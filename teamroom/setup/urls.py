"""Addresses of the first run and of setting a year up."""

from django.urls import path

from teamroom.setup.views import set_up

urlpatterns = [
    path("years/<int:year>/setup/", set_up.setup, name="setup"),
    path("years/<int:year>/setup/end/", set_up.setup_end, name="setup-end"),
    path("years/<int:year>/setup/again/", set_up.setup_again, name="setup-again"),
]
