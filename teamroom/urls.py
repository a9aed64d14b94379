"""Where each app's pages hang."""

from django.urls import include, path

from teamroom.health import health
from teamroom.pages import home

urlpatterns = [
    path("", home, name="home"),
    path("", include("teamroom.members.urls")),
    path("", include("teamroom.members.account_urls")),
    path("", include("scheduling.urls")),
    path("", include("teamroom.setup.urls")),
    path("health/", health, name="health"),
]
