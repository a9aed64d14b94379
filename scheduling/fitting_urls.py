"""Addresses of fittings: a week taken over, mended, or from nothing, and what was found."""

from django.urls import path

from scheduling.views import fitting_asks, fittings

urlpatterns = [
    path("classrooms/<int:classroom>/take-over/", fitting_asks.take_over, name="take-over"),
    path("classrooms/<int:classroom>/from-nothing/", fitting_asks.from_nothing, name="from-nothing"),
    path("weeks/<int:week>/mend/", fitting_asks.mend, name="week-mend"),
    path("fittings/<int:fitting>/", fittings.fitting, name="fitting"),
    path("fittings/<int:fitting>/stop/", fittings.stop, name="fitting-stop"),
    path("fittings/<int:fitting>/ways/<int:way>/", fittings.way, name="fitting-way"),
    path("fittings/<int:fitting>/ways/<int:way>/again/", fittings.again, name="fitting-again"),
    path("fittings/<int:fitting>/ways/<int:way>/take/", fittings.take, name="fitting-take"),
]
