"""The one way a document writes a thing: nothing empty, nothing that is so without being said."""

from typing import Any

from scheduling.minutes.definitions import EVERYTHING, PART_KEYS, Written, window_kind
from teamroom.school_file.form import Document

DEFAULT_SHORT_WINDOW = {"week": "prorate", "run": "skip", "month": "skip"}


def given(**pieces: Any) -> Document:
    """The pieces that say something, in their order; empty texts and lists say nothing."""
    return {key: value for key, value in pieces.items() if value is not None and value not in ("", [], {})}


def canonical_body(body: Written) -> Document:
    """A rule's body with its parts in canonical form."""
    for join in ("all", "any"):
        if join in body:
            return {join: [canonical_part(part) for part in body[join]]}
    return canonical_part(body)


def canonical_part(part: Written) -> Document:
    """A part without its defaults, its keys in the order of the format."""
    window = window_kind(part)
    tidy = dict(part)
    tidy["window"] = None if window == "week" or "run" in part else window
    if tidy.get("pool") == EVERYTHING:
        del tidy["pool"]
    if not tidy.get("sitting"):
        tidy.pop("sitting", None)
    if tidy.get("short_window") == DEFAULT_SHORT_WINDOW.get(window, tidy.get("short_window")):
        tidy.pop("short_window", None)
    if "run" in tidy:
        tidy["run"] = given(days=tidy["run"]["days"], rolling=tidy["run"].get("rolling") or None)
    if "days_met" in tidy:
        minutes = tidy["days_met"].get("minutes", 1)
        tidy["days_met"] = given(at_least=tidy["days_met"]["at_least"], minutes=minutes if minutes != 1 else None)
    if "share" in tidy:
        tidy["share"] = {"at_least": tidy["share"]["at_least"], "of": dict(tidy["share"]["of"])}
    tidy["caps"] = [_cap(cap) for cap in tidy.get("caps", ())]
    tidy["not_beside"] = [
        {"activity": pair["activity"], "beside": pair["beside"]} for pair in tidy.get("not_beside", ())
    ]
    return given(**{key: tidy[key] for key in PART_KEYS if key in tidy})


def _cap(cap: Written) -> Document:
    if "at_most_share" in cap:
        return {"activity": cap["activity"], "at_most_share": cap["at_most_share"]}
    per = cap.get("per", "day")
    return given(activity=cap["activity"], at_most=cap["at_most"], per=per if per != "day" else None)
