"""Where each app's pages hang."""

from django.urls import include, path

from teamroom.health import health
from teamroom.pages import home, year_classrooms
from teamroom.streams import positions

urlpatterns = [
    path("", home, name="home"),
    path("years/<int:year>/", year_classrooms, name="year"),
    path("", include("teamroom.schools.urls")),
    path("", include("teamroom.members.urls")),
    path("", include("teamroom.members.account_urls")),
    path("", include("scheduling.urls")),
    path("", include("teamroom.setup.urls")),
    path("", include("teamroom.trail.urls")),
    path("live/positions/", positions, name="live-positions"),
    path("health/", health, name="health"),
]
