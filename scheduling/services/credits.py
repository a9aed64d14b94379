"""What blocks and day changes share: minutes credited to activities, never more than the time there is."""

from collections.abc import Container, Sequence

from teamroom.common.errors import RuleBroken


def check_credits(credits: Sequence[tuple[int, int]], length: int, activities: Container[int]) -> None:
    """Raise RuleBroken if credits (activity ids with minutes) cannot be those of `length` minutes.

    The database holds the sum and the single minutes too; here the sentence says how to mend them.
    """
    if any(activity not in activities for activity, _ in credits):
        raise RuleBroken("Choose one of this year's activities.", field="credits")
    if len({activity for activity, _ in credits}) < len(credits):
        raise RuleBroken("Name each activity once among the credits.", field="credits")
    if any(minutes < 1 for _, minutes in credits):
        raise RuleBroken("Credit at least one minute, or leave the activity out.", field="credits")
    credited = sum(minutes for _, minutes in credits)
    if credited > length:
        raise RuleBroken(
            f"The credits come to {credited} minutes and there are {length}: credit less, or make it longer.",
            field="credits",
        )
