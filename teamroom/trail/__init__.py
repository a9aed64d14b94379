"""The trail on a page: what happened to rules, people, calendar, bells and classrooms, who did it, and when.

The database records each row by itself (`teamroom.common.trail`). `kinds` says which tables belong to
a year's trail, `reading` fetches their records, `naming` finds what the ids in them are called (also
of things that are gone), and `wording` says each record in a sentence.
"""
