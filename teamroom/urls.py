"""Where each app's pages hang."""

from django.urls import path

from teamroom.health import health

urlpatterns = [
    path("health/", health, name="health"),
]
