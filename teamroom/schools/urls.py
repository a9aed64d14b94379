"""Addresses of schools and of the district."""

from django.urls import path

from teamroom.schools import views

urlpatterns = [
    path("schools/", views.schools, name="schools"),
    path("schools/found/", views.found, name="school-found"),
    path("schools/<int:school>/", views.school, name="school"),
    path("schools/<int:school>/years/begin/", views.begin_year, name="year-begin"),
    path("schools/<int:school>/invite/", views.invite, name="school-invite"),
    path("schools/<int:school>/invitations/<int:invitation>/renew/", views.renew, name="school-invitation-renew"),
    path("schools/<int:school>/invitations/<int:invitation>/take-back/", views.revoke, name="school-invitation-revoke"),
    path("district/administrators/give/", views.give_district, name="district-give"),
    path("district/administrators/<int:person>/take/", views.take_district, name="district-take"),
]
