"""Addresses of what teams and classes have in common: the team's week, and what classes share."""

from django.urls import path

from scheduling.views import shared_resources, team_week

urlpatterns = [
    path("teams/<int:team>/week/", team_week.week, name="team-week"),
    path("years/<int:year>/shared/", shared_resources.sheet, name="shared-resources"),
    path("years/<int:year>/shared/add/", shared_resources.add, name="shared-resource-add"),
    path("years/<int:year>/shared/<int:resource>/", shared_resources.resource, name="shared-resource"),
    path("years/<int:year>/shared/<int:resource>/change/", shared_resources.change, name="shared-resource-change"),
    path("years/<int:year>/shared/<int:resource>/remove/", shared_resources.remove, name="shared-resource-remove"),
]
