"""Addresses of weeks, blocks and readings; one verb, one address."""

from django.urls import include, path

from scheduling.views import (
    activities,
    bells,
    blocks,
    classrooms,
    closure_imports,
    closures,
    readings,
    specialists,
    taking_back,
    weeks,
    year_setup,
)

app_name = "scheduling"

urlpatterns = [
    # The calendar
    path("", include("scheduling.calendar_urls")),
    # The history of a week
    path("", include("scheduling.history_urls")),
    # Drafts of a week
    path("", include("scheduling.draft_urls")),
    # Weeks taken over, mended, or from nothing
    path("", include("scheduling.fitting_urls")),
    # Weeks from and to spreadsheets
    path("", include("scheduling.sheet_urls")),
    # Weeks
    path("classrooms/<int:classroom>/week/", weeks.week, name="week"),
    path("classrooms/<int:classroom>/week/begin/", weeks.begin, name="week-begin"),
    path("weeks/<int:week>/start/", weeks.start, name="week-start"),
    path("weeks/<int:week>/date/", weeks.date, name="week-date"),
    path("weeks/<int:week>/drop/", weeks.drop, name="week-drop"),
    path("weeks/<int:week>/list/", weeks.in_words, name="week-list"),
    path("", include("scheduling.live_urls")),
    path("", include("scheduling.question_urls")),
    path("", include("scheduling.team_block_urls")),
    path("", include("scheduling.team_week_urls")),
    # Blocks
    path("weeks/<int:week>/blocks/add/", blocks.add, name="block-add"),
    path("blocks/<int:block>/", blocks.edit, name="block-edit"),
    path("blocks/<int:block>/move/", blocks.move, name="block-move"),
    path("blocks/<int:block>/split/", blocks.split, name="block-split"),
    path("blocks/<int:block>/remove/", blocks.remove, name="block-remove"),
    # Readings
    path("classrooms/<int:classroom>/rules/<int:rule>/<int:part>/", readings.trace, name="reading-trace"),
    # Classrooms
    path("teams/<int:team>/classrooms/add/", classrooms.add, name="classroom-add"),
    path("classrooms/<int:classroom>/change/", classrooms.change, name="classroom-change"),
    path("classrooms/<int:classroom>/retire/", classrooms.retire, name="classroom-retire"),
    path("classrooms/<int:classroom>/bring-back/", classrooms.bring_back, name="classroom-bring-back"),
    path("classrooms/<int:classroom>/remove/", classrooms.remove, name="classroom-remove"),
    path("years/<int:year>/caps/", classrooms.caps, name="cap-suggestions"),
    # Activities
    path("years/<int:year>/activities/", activities.activities, name="activities"),
    path("years/<int:year>/activities/add/", activities.add, name="activity-add"),
    path("years/<int:year>/activities/usual/", activities.usual, name="activity-usual"),
    path("years/<int:year>/activities/<int:activity>/", activities.activity, name="activity"),
    path("years/<int:year>/activities/<int:activity>/rename/", activities.rename, name="activity-rename"),
    path("years/<int:year>/activities/<int:activity>/frees/", activities.frees, name="activity-frees"),
    path("years/<int:year>/activities/<int:activity>/remove/", activities.remove, name="activity-remove"),
    # Bells
    path("years/<int:year>/bells/", bells.bells, name="bells"),
    path("years/<int:year>/bells/set/", bells.set_times, name="bell-set"),
    path("years/<int:year>/bells/<int:bell>/remove/", bells.remove, name="bell-remove"),
    # Specialists
    path("years/<int:year>/specialists/", specialists.sheet, name="specialists"),
    path("years/<int:year>/specialists/give/", specialists.give, name="specialist-give"),
    path("years/<int:year>/specialists/<int:member>/", specialists.week, name="specialist-week"),
    path("specialists/<int:post>/change/", specialists.change, name="specialist-change"),
    path("specialists/<int:post>/end/", specialists.end, name="specialist-end"),
    # The year's dates, kinds of day and closures
    path("years/<int:year>/dates/", year_setup.year_dates, name="year-dates"),
    path("years/<int:year>/dates/count/", year_setup.year_dates_count, name="year-dates-count"),
    path("years/<int:year>/day-kinds/", year_setup.day_kinds, name="day-kinds"),
    path("years/<int:year>/day-kinds/add/", year_setup.day_kind_add, name="day-kind-add"),
    path("years/<int:year>/day-kinds/<int:kind>/rename/", year_setup.day_kind_rename, name="day-kind-rename"),
    path("years/<int:year>/day-kinds/<int:kind>/remove/", year_setup.day_kind_remove, name="day-kind-remove"),
    path("years/<int:year>/standing-days/", year_setup.standing_days, name="standing-days"),
    path("years/<int:year>/cycle/", year_setup.cycle, name="cycle"),
    path("years/<int:year>/cycle/preview/", year_setup.cycle_preview, name="cycle-preview"),
    path("years/<int:year>/closures/", closures.closures, name="closures"),
    path("years/<int:year>/closures/add/", closures.add, name="closure-add"),
    path("years/<int:year>/closures/holidays/", closures.holidays, name="closure-holidays"),
    path("years/<int:year>/closures/paste/", closure_imports.paste, name="closure-paste"),
    path("years/<int:year>/closures/take-back/", taking_back.take_all_back, name="closure-take-back"),
    path("years/<int:year>/closures/import/", closure_imports.import_calendar, name="closure-import"),
    path("years/<int:year>/closures/<int:closure>/change/", closures.change, name="closure-change"),
    path("years/<int:year>/closures/<int:closure>/remove/", closures.remove, name="closure-remove"),
    # Rules
    path("years/<int:year>/rules/", include("scheduling.rule_urls")),
]
