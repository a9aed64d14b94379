"""Addresses of people and places; one verb, one address."""

from django.urls import path

from teamroom.members.people_urls import people_patterns
from teamroom.members.views import accounts, letters, teaching, teams

app_name = "members"

urlpatterns = [
    *people_patterns,
    path("account/", accounts.my_account, name="account"),
    path("letters/", letters.letters, name="letters"),
    path("letters/again/", letters.send_again, name="letters-again"),
    # Teams, and who teaches a class
    path("years/<int:year>/teams/", teams.sheet, name="teams"),
    path("years/<int:year>/teams/add/", teams.add, name="team-add"),
    path("teams/<int:team>/change/", teams.change, name="team-change"),
    path("teams/<int:team>/retire/", teams.retire, name="team-retire"),
    path("teams/<int:team>/bring-back/", teams.bring_back, name="team-bring-back"),
    path("classrooms/<int:classroom>/teachers/", teaching.teachers, name="class-teachers"),
    path("classrooms/<int:classroom>/teachers/add/", teaching.put_on, name="class-teacher-add"),
    path("class-teachers/<int:pk>/dates/", teaching.change_dates, name="class-teacher-dates"),
    path("class-teachers/<int:pk>/take-off/", teaching.take_off, name="class-teacher-take-off"),
    path("class-teachers/<int:pk>/hand-over/", teaching.hand_over, name="class-hand-over"),
]
