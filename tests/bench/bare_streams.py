"""What the app's streams are held against: events from the database to every open stream, and no app in between."""

import asyncio
import os
from typing import Any

import psycopg
from asgiref.typing import ASGIReceiveCallable, ASGISendCallable, Scope

CHANNEL = "bare"
heard: set[asyncio.Queue[str]] = set()
tasks: list[asyncio.Task[None]] = []


async def listen() -> None:
    connection = await psycopg.AsyncConnection.connect(os.environ["BARE_DATABASE"], autocommit=True)
    await connection.execute(f"LISTEN {CHANNEL}")
    async for said in connection.notifies():
        event = f'id: {said.payload}\nevent: changed\ndata: {{"topic": "bare", "edition": {said.payload}}}\n\n'
        for queue in heard:
            queue.put_nowait(event)


async def application(scope: Scope, receive: ASGIReceiveCallable, send: ASGISendCallable) -> None:
    if scope["type"] == "lifespan":
        await receive()
        tasks.append(asyncio.create_task(listen()))
        await send({"type": "lifespan.startup.complete"})
        await receive()
        await send({"type": "lifespan.shutdown.complete"})
        return
    queue: asyncio.Queue[str] = asyncio.Queue()
    heard.add(queue)
    headers = [(b"content-type", b"text/event-stream")]
    start: Any = {"type": "http.response.start", "status": 200, "headers": headers}
    await send(start)
    await send({"type": "http.response.body", "body": b": here\n\n", "more_body": True})
    while True:
        event = await queue.get()
        await send({"type": "http.response.body", "body": event.encode(), "more_body": True})
