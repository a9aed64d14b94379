"""A week as teachers keep it in a spreadsheet: files read into cells, cells understood as blocks, and written again.

Pure but for openpyxl: no Django, no database. `reading` turns a file into a `Sheet`, `guessing` says what it takes
the sheet for and finds the blocks, `names` finds the school's activities, `writing` makes files of a week.
"""
