"""Forms and links read out of a page's HTML, as a browser would find them."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import NamedTuple
from urllib.parse import urlencode, urljoin, urlsplit


@dataclass
class Control:
    """Everything of one name in a form: its kind, what a browser would send untouched, what may be chosen."""

    kind: str
    required: bool = False
    sent: list[str] = field(default_factory=list)
    options: list[str] = field(default_factory=list)


@dataclass
class PageForm:
    """A form with its controls by name."""

    action: str
    method: str
    controls: dict[str, Control] = field(default_factory=dict)

    def control(self, name: str, kind: str) -> Control:
        return self.controls.setdefault(name, Control(kind))


class ReadPage(NamedTuple):
    """A page's forms that are posted, and the addresses it leads to, with their queries."""

    forms: list[PageForm]
    links: list[str]


def read_page(html: str, address: str) -> ReadPage:
    """The forms and links of a page. A form stands once for each address that it, or a button of it, sends it to."""
    reader = _Reader(address)
    reader.feed(html)
    reader.close()
    asked = [way for form in reader.forms if form.method == "get" for way in _ways_to_ask(form)]
    return ReadPage([form for form in reader.forms if form.method == "post"], [*reader.links, *asked])


def _ways_to_ask(form: PageForm) -> Iterator[str]:
    """Where a form leads that only asks: once for the first and once for the last choice of each field."""
    for end in (0, -1):
        chosen = {name: control.options[end] for name, control in form.controls.items() if control.options}
        yield f"{form.action}?{urlencode(chosen)}"


class _Reader(HTMLParser):
    def __init__(self, address: str) -> None:
        super().__init__()
        self.address = address
        self.forms: list[PageForm] = []
        self.links: list[str] = []
        self._open: PageForm | None = None
        self._by_id: dict[str, PageForm] = {}
        self._select: Control | None = None
        self._option: str | None = None
        self._text: Control | None = None
        self._several = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = {name: value or "" for name, value in attrs}
        if tag == "form":
            self._open = PageForm(self._to(told.get("action", "")), told.get("method", "get").lower())
            self.forms.append(self._open)
            self._also_to(self._open, told.get("hx-post"))
            if told.get("id"):
                self._by_id[told["id"]] = self._open
        elif tag == "a" and "href" in told:
            self.links.append(urljoin(self.address, told["href"]))
        elif tag in ("input", "select", "textarea", "button"):
            self._control(tag, told)
        elif tag == "option" and self._select is not None:
            value = told.get("value", "")
            self._select.options.append(value)
            if "selected" in told:
                self._select.sent.append(value)

    def _to(self, action: str) -> str:
        return urlsplit(urljoin(self.address, action)).path

    def _also_to(self, form: PageForm, action: str | None) -> None:
        """The same form sent to another address, as a button or a part of it may do."""
        if action and self._to(action) != form.action:
            self.forms.append(PageForm(self._to(action), "post", form.controls))

    def _control(self, tag: str, told: dict[str, str]) -> None:
        form = self._by_id.get(told.get("form", ""), self._open)
        name, kind = told.get("name"), told.get("type", "text") if tag == "input" else tag
        for way in ("formaction", "hx-post"):
            if form is not None:
                self._also_to(form, told.get(way))
        if form is None or not name or "disabled" in told or kind == "reset":
            return
        control = form.control(name, kind)
        control.required |= "required" in told
        value = told.get("value", "on" if kind == "checkbox" else "")
        if kind in ("checkbox", "radio"):
            control.options.append(value)
            if "checked" in told:
                control.sent.append(value)
        elif kind in ("submit", "button", "image"):
            # Sent only where it is the button that was pressed.
            control.options.append(value)
        elif tag == "select":
            self._select, self._several = control, "multiple" in told
        elif tag == "textarea":
            control.sent.append("")
            self._text = control
        else:
            control.sent.append(value)

    def handle_data(self, data: str) -> None:
        if self._text is not None:
            self._text.sent[-1] += data

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._open = None
        elif tag == "select" and self._select is not None:
            if not self._several and self._select.options and not self._select.sent:
                self._select.sent.append(self._select.options[0])
            self._select = None
        elif tag == "textarea":
            self._text = None
