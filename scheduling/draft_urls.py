"""Addresses of drafts, and of a week beside another or a grade's rules."""

from django.urls import path

from scheduling.views import beside, drafts

urlpatterns = [
    path("weeks/<int:week>/put-in-effect/", drafts.put_in_effect, name="week-put-in-effect"),
    path("weeks/<int:week>/take-out/", drafts.take_out, name="week-take-out"),
    path("weeks/<int:week>/compare/", beside.choose, name="week-beside"),
    path("weeks/<int:week>/compare/<int:other>/", beside.compare, name="week-compare"),
    # A school may name a grade with a slash in it, as in 4/5.
    path("weeks/<int:week>/against/<path:grade>/", beside.against, name="week-against"),
]
