"""The forms of rules: a rule in all its pieces, and taking rules out of the library.

`typed` holds what was typed, `amounts` and `writing` read it into a rule's written body, `shown`
lays it out for the screen. All four are free of the database; the forms themselves are `rule` and
`library`.
"""
