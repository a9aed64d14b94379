"""Addresses of questions on blocks."""

from django.urls import path

from scheduling.views import questions

urlpatterns = [
    path("questions/", questions.own, name="questions"),
    path("blocks/<int:block>/ask/", questions.ask, name="block-ask"),
    path("questions/<int:question>/", questions.question, name="question"),
    path("questions/<int:question>/answer/", questions.answer, name="question-answer"),
    path("questions/<int:question>/settle/", questions.settle, name="question-settle"),
    path("questions/<int:question>/withdraw/", questions.withdraw, name="question-withdraw"),
]
