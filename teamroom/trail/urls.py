"""Addresses of the trail."""

from django.urls import path

from teamroom.trail import views

urlpatterns = [
    path("years/<int:year>/trail/", views.trail, name="trail"),
    path("years/<int:year>/trail/moment/", views.moment, name="trail-moment"),
    path("years/<int:year>/trail/download/", views.sheet, name="trail-sheet"),
]
