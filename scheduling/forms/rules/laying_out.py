"""The buttons of a rule's form that send it and save nothing: parts added or taken out, rows, a look."""

from scheduling.forms.rules.rule import RuleForm
from scheduling.forms.rules.shown import Step


def laid_out(form: RuleForm) -> Step | None:
    """Do what the button asks of the form's parts; None if it was the button that saves."""
    posted = form.data
    if "add-part" in posted:
        form.typed = form.typed.with_part()
        return Step(fresh=max(form.typed.parts))
    if "remove-part" in posted:
        form.typed = form.typed.without_part(_number(posted["remove-part"]))
        return Step()
    if "more-rows" in posted:
        return Step(opened=(_number(posted["more-rows"]),))
    return Step() if "show" in posted else None


def _number(text: str) -> int:
    return int(text) if text.isascii() and text.isdigit() and len(text) <= 3 else -1
