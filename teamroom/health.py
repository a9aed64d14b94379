"""The page that containers and load balancers ask whether this process works."""

from django.db import connection
from django.http import HttpRequest, HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe


@require_safe
@never_cache
def health(request: HttpRequest) -> HttpResponse:
    """Answer `ok` after one query; a database that is away makes it a 500."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
    return HttpResponse("ok", content_type="text/plain")
