"""Calendars as others write them (lists of holidays, pasted lines, .ics files), read into dates with a name.

Pure: no Django, no database. Nothing here decides what a school does with what it reads.
"""
