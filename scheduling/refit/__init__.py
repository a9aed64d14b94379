"""Fitting a week into another day: what stands where, with the least shortfall and the least moving.

Pure but for OR-Tools: no Django, no database. `problem` holds what is asked, `demands` reads rules
into it, `model` is the solver's, `fitting` runs its passes, `proposal` is what comes out.
"""
