"""Addresses of team blocks."""

from django.urls import path

from scheduling.views import team_blocks

urlpatterns = [
    path("blocks/<int:block>/team/", team_blocks.share, name="block-share"),
    path("blocks/<int:block>/step-out/", team_blocks.step_out, name="block-step-out"),
]
