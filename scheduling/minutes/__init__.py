"""How instructional minutes are counted. Pure: it knows no database and no Django.

`plan` says what goes in, `rules` what a rule can ask, `definitions` how a rule is written,
`layout` lays out one day, `tally` counts it for a part, `year` gathers like days and windows,
`measure` works out a window, `readings` judges, `trace` spells a figure out to its addends.
"""
