"""Reads of people and places."""

from teamroom.members.selectors.years import DateAt, current_years, taught_today, years_by_school, years_of

__all__ = ["DateAt", "current_years", "taught_today", "years_by_school", "years_of"]
