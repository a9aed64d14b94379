"""Addresses of the first run and of setting a year up."""

from django.urls import path

from teamroom.setup.views import begin, files, first, next_year, set_up

urlpatterns = [
    # The first run
    path("first/<str:token>/", first.first, name="first"),
    path("begin/", begin.begin, name="begin"),
    path("begin/demo/", begin.demo, name="begin-demo"),
    path("begin/file/", files.begin_file, name="begin-file"),
    # School files
    path("years/<int:year>/file/", files.year_file, name="year-file"),
    path("years/<int:year>/file/download/", files.year_download, name="year-download"),
    path("school-file/replace/", files.replace_year, name="replace-year"),
    # Another year
    path("years/<int:year>/next/", next_year.next_year, name="next-year"),
    # The list
    path("years/<int:year>/setup/", set_up.setup, name="setup"),
    path("years/<int:year>/setup/end/", set_up.setup_end, name="setup-end"),
    path("years/<int:year>/setup/again/", set_up.setup_again, name="setup-again"),
]
