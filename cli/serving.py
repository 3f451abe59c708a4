"""A page of this machine, served from a command until it is stopped."""

from __future__ import annotations

import click

from viewer.web import Guard, Room, Way, own_socket, serve


def serve_room(room: Room, port: int | None, browser: bool) -> None:
    """Serve a page, print its link, and open it where a browser is wanted; Control+C is the way to stop it."""
    listener = own_socket(port or 0)
    guard = Guard(listener.getsockname()[1])
    way = Way(guard.link)

    def opened() -> None:
        click.echo(f"{guard.link}\nOnly this machine's browser can open it. Stop with Control+C.")
        if browser:
            click.launch(str(way.path))

    try:
        serve(room, guard, listener, opened)
    except KeyboardInterrupt:
        pass
    finally:
        way.close()
        listener.close()
