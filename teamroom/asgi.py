"""The one entry for the web server.

Streams under /live/ are native async and cost no thread while they wait. Everything else is synchronous Django and
runs as WSGI in threads: measured nine times faster than Django's own ASGI handling of synchronous views.
"""

from typing import Any, cast

from a2wsgi import WSGIMiddleware
from asgiref.typing import ASGI3Application, ASGIReceiveCallable, ASGISendCallable, Scope

from teamroom.wsgi import application as pages_as_wsgi  # first: it makes Django ready for what follows

from teamroom.streams import hub, streams  # isort: skip

pages = cast(ASGI3Application, WSGIMiddleware(cast(Any, pages_as_wsgi), workers=8))


async def lifespan(receive: ASGIReceiveCallable, send: ASGISendCallable) -> None:
    """Say yes to start and stop; what listens to the database hangs up at the end."""
    while True:
        message = await receive()
        if message["type"] == "lifespan.startup":
            await send({"type": "lifespan.startup.complete"})
        elif message["type"] == "lifespan.shutdown":
            await hub.close()
            await send({"type": "lifespan.shutdown.complete"})
            return


async def application(scope: Scope, receive: ASGIReceiveCallable, send: ASGISendCallable) -> None:
    """Send each request to the streams or to the pages."""
    if scope["type"] == "lifespan":
        await lifespan(receive, send)
    elif scope["type"] == "http" and scope["path"] == "/live/":
        await streams(scope, receive, send)
    else:
        await pages(scope, receive, send)
