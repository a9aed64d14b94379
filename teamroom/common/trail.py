"""Which tables keep a trail: every row written, changed or removed is recorded by the database itself."""

from collections.abc import Callable, Sequence
from typing import TypeVar

import pghistory
from django.db import models
from django.http import HttpRequest
from pghistory.middleware import HistoryMiddleware

Kept = TypeVar("Kept", bound=type[models.Model])


def kept_in_trail(*, exclude: Sequence[str] = ()) -> Callable[[Kept], Kept]:
    """Record each insert, update and delete of a model's rows, without the columns left out.

    The recording is by triggers, so no way of writing goes round it. Who did it stands in the
    record's context, which the middleware gives for a request; a command has none.
    """

    def decorated(model: Kept) -> Kept:
        pghistory.track(
            pghistory.InsertEvent(),
            pghistory.UpdateEvent(),
            pghistory.DeleteEvent(),
            exclude=list(exclude) or None,
            obj_field=pghistory.ObjForeignKey(related_name="+", related_query_name="+"),
            meta={"indexes": [_by_moment(model)]},
        )(model)
        return model

    return decorated


BELONGS_TO = ("year", "school", "team", "classroom", "bell_schedule")


def _by_moment(model: type[models.Model]) -> models.Index:
    """The records of one year, school or what belongs to one by when they were written, as a trail is read."""
    columns = {column.name for column in model._meta.local_fields}
    belongs = next((name for name in BELONGS_TO if name in columns), "id")
    return models.Index(fields=[belongs, "pgh_created_at"], name=f"{model._meta.model_name}_trail")


class TrailMiddleware(HistoryMiddleware):
    """Says who sent a request in every record that it leaves. Nothing else about the request is kept: an address
    may hold a secret that lets somebody in."""

    def get_context(self, request: HttpRequest) -> dict[str, int | None]:
        return {"user": super().get_context(request)["user"]}
