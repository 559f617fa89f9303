"""`tapemark open`: the app in the browser."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from tapemark.services.library.opened_files import OpenedFile
    from tapemark.web import Settings

USUAL_PORT = 8431
HERE, EVERYWHERE = "127.0.0.1", "0.0.0.0"
CHANGED = (
    '{file} has changed: it says something that was never kept under "{name}". The browser asks '
    "whether to take its text as a new version or to open it as a copy."
)
CAUTION = (
    "Whoever is in the same network can see that tapemark runs, and can read along what is sent.\n"
    "Use a network whose people you know: your own hotspot, not that of a hall or a café."
)


@click.command(name="open", epilog="Example: tapemark open reading-room.toml --lan")
@click.argument("setup", type=click.Path(path_type=Path), required=False)
@click.option("--lan", is_flag=True, help="Let a tablet or phone in the same network join.")
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=USUAL_PORT,
    show_default=True,
    metavar="N",
    help="The port to use; 0 takes a free one.",
)
@click.option("--no-browser", is_flag=True, help="Only say the address, open nothing.")
@click.option(
    "--library",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Another library than your own.",
)
def open_command(
    setup: Path | None, *, lan: bool, port: int, no_browser: bool, library: Path | None
) -> int:
    """Open the app in the browser, with SETUP if one is named; it is added to the library.

    Where the library has it already and the file has changed since, the browser asks whether to
    take its text as a new version or to open it as a copy.

    The app runs on this computer and needs no internet. Ctrl-C ends it. Exit status: 0 ended,
    1 the port is taken, 2 SETUP or the library cannot be read.
    """
    from tapemark.web import Settings, create_app, listen, serve

    opened = _opened(setup, library)  # first of all, to say at once what cannot be read
    try:
        listening = listen(EVERYWHERE if lan else HERE, port)
    except OSError as error:
        click.echo(_why_not(port, error), err=True)
        return 1
    port = listening.getsockname()[1]
    names = _names_here() if lan else ()
    settings = Settings(port=port, library=library, lan=lan, names=names)
    app = create_app(settings)
    page = "/" if opened is None else f"/set/{opened.kept.id}"
    if opened is not None and opened.found == "changed":
        page = app.state.opened_files.add(opened)
    address = f"http://{HERE}:{port}"

    def ready() -> None:
        if opened is not None and opened.found == "changed":
            click.echo(CHANGED.format(file=opened.file_name, name=opened.kept.name), err=True)
        click.echo(f"tapemark is at {address}{page} (Ctrl-C ends it)")
        if lan:
            click.echo(_for_others(settings, app.state.desk.sessions.invite(), page=page))
        if not no_browser:
            _open_browser(f"{address}{page}")

    serve(app, listening, ready=ready)
    click.echo("tapemark has ended.")
    return 0


def _opened(setup: Path | None, library: Path | None) -> "OpenedFile | None":
    """Find a setup in the library, or add it; with none named, see that the library opens."""
    from tapemark.services import read_setup
    from tapemark.services.library.opened_files import open_file
    from tapemark.store import Library

    read = None if setup is None else read_setup(setup)
    with Library.open(library) as shelf:
        if setup is None or read is None:
            return None
        return open_file(shelf, read, file_name=setup.name)


def _why_not(port: int, error: OSError) -> str:
    import errno

    if error.errno == errno.EADDRINUSE:
        return (
            f"Port {port} of this computer is taken, perhaps by tapemark running already: look at "
            f"http://{HERE}:{port}, or choose another with --port (0 takes a free one)."
        )
    return f"Port {port} cannot be used: {error.strerror}; choose another with --port."


def _for_others(settings: "Settings", token: str, *, page: str) -> str:
    """Return what to do on the other device."""
    import os
    import sys

    from tapemark.services.paper.links import link_in_terminal

    if not settings.names:
        return "This computer is in no network: join one, and start tapemark again."
    link = f"http://{settings.names[0]}:{settings.port}{page}?token={token}"
    color = sys.stdout.isatty() and "NO_COLOR" not in os.environ
    return "\n".join(
        [
            "",
            "On the tablet or phone, within 10 minutes (one device a link; more at /invite):",
            "",
            link_in_terminal(link, color=color),
            "",
            f"  {link}",
            "",
            CAUTION,
        ]
    )


def _names_here() -> tuple[str, ...]:
    """Return the addresses and names of this computer in its network, the likeliest first."""
    import contextlib
    import ipaddress
    import socket

    found: list[str] = []
    for there in ("192.0.2.1", "10.255.255.255", "192.168.255.255", "172.31.255.255"):
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            try:
                probe.connect((there, 9))  # sends nothing: asks which way it would go
                found.append(probe.getsockname()[0])
            except OSError:
                continue
    name = socket.gethostname().lower()
    with contextlib.suppress(OSError):
        found += [str(one[4][0]) for one in socket.getaddrinfo(name, None, socket.AF_INET)]
    usable = [one for one in found if not ipaddress.ip_address(one).is_loopback]
    named = (name, f"{name}.local") if name and name != "localhost" else ()
    return (*dict.fromkeys(usable), *named) if usable else ()


def _open_browser(address: str) -> None:
    """Open the browser without waiting for it."""
    import threading
    import webbrowser

    threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
