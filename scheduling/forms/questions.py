"""What one writes in a question or an answer."""

from django import forms

from scheduling.services.questions import LONGEST
from teamroom.common.forms import EditForm


class WordsForm(EditForm):
    """A few sentences to colleagues."""

    text = forms.CharField(
        max_length=LONGEST,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Never the name of a pupil.",
        error_messages={"required": "Write what you want to say."},
    )


class QuestionForm(WordsForm):
    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]  # as every form
        self.fields["text"].label = "Your question"


class AnswerForm(WordsForm):
    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]  # as every form
        self.fields["text"].label = "Your answer"
