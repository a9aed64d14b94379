"""Addresses of a year's rules; one verb, one address."""

from django.urls import path

from scheduling.views import rule_forms, rule_library, rules

urlpatterns = [
    path("", rules.rules, name="rules"),
    path("library/", rule_library.library, name="rule-library"),
    path("library/preview/", rule_library.preview, name="rule-adopt-preview"),
    path("library/adopt/", rule_library.adopt, name="rule-adopt"),
    path("library/take-back/", rule_library.take_back, name="rule-adopt-undo"),
    path("add/", rule_forms.add, name="rule-add"),
    path("preview/", rule_forms.preview, name="rule-preview"),
    path("<int:rule>/", rule_forms.edit, name="rule-edit"),
    path("<int:rule>/copy/", rule_forms.copy, name="rule-copy"),
    path("<int:rule>/preview/", rule_forms.preview_changed, name="rule-edit-preview"),
    path("<int:rule>/retire/", rules.retire, name="rule-retire"),
    path("<int:rule>/bring-back/", rules.bring_back, name="rule-bring-back"),
]
