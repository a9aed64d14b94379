"""What a fitting pays for in grains: what goes against wishes, and how far blocks move and change their length."""

from scheduling.refit.model import Model, Sum
from scheduling.refit.problem import GRAIN


def wishes(model: Model) -> Sum:
    """Grains against what is wished."""
    wishes = model.problem.wishes
    total: Sum = 0
    for placed in (*model.placed, *model.guests):
        if placed.item.activity in wishes.ends_by:
            by = wishes.ends_by[placed.item.activity] // GRAIN
            late = model.cp.new_int_var(0, 24 * 60 // GRAIN, "")
            model.cp.add(late >= placed.start + placed.length - by - placed.last * (1 - placed.present))
            total += late
    for activity, most in wishes.at_a_stretch.items():
        for day, target in enumerate(model.problem.days):
            there = [placed for placed in model.on(day) if placed.item.activity == activity]
            for place in range(len(target.free)):
                held = [placed.inside[place][1] for placed in there if place in placed.inside]
                if held:
                    over = model.cp.new_int_var(0, 24 * 60 // GRAIN, "")
                    model.cp.add(over >= sum(held) - most // GRAIN)
                    total += over
    return total


def moving(model: Model) -> Sum:
    """Grains of shift, by the clock, and of changed length of the blocks that stay."""
    total: Sum = 0
    for number, placed in enumerate((*model.placed, *model.guests)):
        # A source off the grid is measured from the nearest place on it.
        start, length = round(placed.item.start / GRAIN), round(placed.item.length / GRAIN)
        shift = model.cp.new_int_var(0, 24 * 60 // GRAIN, f"shift{number}")
        change = model.cp.new_int_var(0, 24 * 60 // GRAIN, f"change{number}")
        there = placed.present
        if placed.item.added:
            total += placed.length
            continue
        model.cp.add(shift >= placed.start - start * there - placed.last * (1 - there))
        model.cp.add(shift >= start * there - placed.start)
        # A block that is not there has no length, so both sides are then 0.
        model.cp.add(change >= placed.length - length * there)
        model.cp.add(change >= length * there - placed.length)
        total += shift + change
    return total
