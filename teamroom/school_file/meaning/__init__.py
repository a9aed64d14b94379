"""What a schema cannot say of a school file: dates, names and times that must agree.

Each module looks at one section of a sound document, in which what is malformed has been taken out
(None in lists), so nothing is reported twice. They yield faults.
"""
