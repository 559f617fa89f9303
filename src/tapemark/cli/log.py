"""`tapemark log`: the log of a session of test shots."""

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from tapemark.store import Library

_SESSION = click.option(
    "--session", default="", metavar="NAME", help="Which session; without it the newest one."
)
_FRAME = click.option("--frame", type=click.IntRange(1), metavar="N", help="About this frame.")


@click.group(epilog="Example: tapemark log add IMG_0412.jpg")
def log() -> None:
    """Keep the log of a session: its frames, what was changed between them, readings, notes."""


@log.command(epilog='Example: tapemark log start "Reading room"')
@click.argument("setup", required=False, default="")
@click.option("--name", default="", help="What the session is called.")
@click.option("--sitter", default="", help="Who sits; without it whoever the setup has.")
def start(setup: str, *, name: str, sitter: str) -> int:
    """Begin a session taken with SETUP: the name of a kept one, or a file that is then kept."""
    from tapemark.services.photos.session_log import begin_session

    with _library() as library:
        setup_id = _setup_id(library, setup)
        kept = begin_session(library, name=name, setup_id=setup_id, sitter=sitter)
    click.echo(f"{kept.name}  ({kept.id})")
    return 0


@log.command(epilog="Example: tapemark log add IMG_0412.jpg IMG_0413.jpg")
@click.argument("photos", nargs=-1, required=True, type=click.Path(path_type=Path))
@_SESSION
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON instead of text.")
def add(photos: tuple[Path, ...], *, session: str, as_json: bool) -> int:
    """Add PHOTOS to a session and read them; the files are only read.

    Exit status: 0 added, 2 one of them cannot be found.
    """
    from tapemark.services.photos.frame_reading import fingerprint
    from tapemark.services.photos.session_log import add_frame
    from tapemark.services.photos.session_names import find_session
    from tapemark.services.photos.session_queue import read_here

    marks = [(one.absolute(), fingerprint(one)) for one in photos]
    with _library() as library:
        key = find_session(library, session).id
        numbers = [
            add_frame(
                library, key, name=path.name, folder=str(path.parent), mark=mark, where="named"
            ).entry.number
            for path, mark in marks
        ]
        read_here(library, key)
        _tell(library, key, numbers, as_json=as_json)
    return 0


@log.command(epilog='Example: tapemark log note "chin down after this one" --frame 12')
@click.argument("text")
@_SESSION
@_FRAME
def note(text: str, *, session: str, frame: int | None) -> int:
    """Keep a note, about a frame or about the session."""
    from tapemark.services.photos.session_log import add_note
    from tapemark.services.photos.session_names import find_session

    with _library() as library:
        add_note(library, find_session(library, session).id, text, frame=frame)
    click.echo("noted")
    return 0


@log.command(epilog="Example: tapemark log meter f/8 --light key")
@click.argument("reading")
@click.option("--light", default="", help="Which light, alone; without it all lights together.")
@click.option("--distance", default="", help="Where the meter was; else at the sitter's face.")
@click.option("--power", default="", help="What was dialled; else as in the setup.")
@_SESSION
def meter(reading: str, *, light: str, distance: str, power: str, session: str) -> int:
    """Keep what a meter showed: for one light it counts instead of every estimate."""
    from tapemark.services.photos.session_meter import add_meter
    from tapemark.services.photos.session_names import find_session

    with _library() as library:
        key = find_session(library, session).id
        words = add_meter(
            library, key, light=light, reading=reading, distance=distance, power=power
        )
    click.echo(words)
    return 0


@log.command(epilog="Example: tapemark log sitter Oriel")
@click.argument("name")
@_SESSION
def sitter(name: str, *, session: str) -> int:
    """Say who sits from now on."""
    from tapemark.services.photos.session_log import next_sitter
    from tapemark.services.photos.session_names import find_session

    with _library() as library:
        next_sitter(library, find_session(library, session).id, name)
    click.echo(f"{name} sits from here on")
    return 0


@log.command(epilog="Example: tapemark log follow reading-room.toml")
@click.argument("setup")
@_SESSION
def follow(setup: str, *, session: str) -> int:
    """Take the next frames with another SETUP, see start."""
    from tapemark.services.photos.session_log import follow_setup
    from tapemark.services.photos.session_names import find_session

    with _library() as library:
        follow_setup(library, find_session(library, session).id, _setup_id(library, setup))
    click.echo(f"taken with {setup} from here on")
    return 0


@log.command(name="list", epilog="Example: tapemark log list")
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON instead of text.")
def list_sessions(*, as_json: bool) -> int:
    """List the sessions that have a log, the last changed first."""
    from tapemark.services.photos.session_names import sessions_of

    with _library() as library:
        found: list[dict[str, Any]] = [
            {
                "id": line.id,
                "name": line.name,
                "changed_at": line.changed_at,
                "frames": library.log(line.id).counts().get("frame", 0),
            }
            for line in sessions_of(library)
        ]
    if as_json:
        click.echo(json.dumps(found, indent=2, ensure_ascii=False))
        return 0
    for one in found:
        click.echo(f"{one['name']}  ({one['frames']} frames, {one['id']})")
    if not found:
        click.echo("There is no session yet.")
    return 0


@log.command(epilog="Example: tapemark log show")
@_SESSION
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON instead of text.")
def show(*, session: str, as_json: bool) -> int:
    """Show the log of a session, the oldest entry first."""
    from tapemark.services.photos.session_names import find_session

    with _library() as library:
        key = find_session(library, session).id
        numbers = [one.number for one in reversed(library.log(key).entries())]
        _tell(library, key, numbers, as_json=as_json)
    return 0


@log.command(epilog="Example: tapemark log back 12")
@click.argument("frame", type=click.IntRange(1))
@_SESSION
def back(frame: int, *, session: str) -> int:
    """Open the setup of a FRAME again, as a new version: nothing is lost."""
    from tapemark.services.photos.session_back import back_to
    from tapemark.services.photos.session_names import find_session

    with _library() as library:
        kept = back_to(library, find_session(library, session).id, frame)
    click.echo(f"{kept.name}, now version {kept.version}: as for frame {frame}")
    return 0


def _library() -> "Library":
    from tapemark.services.library.keeping import Library

    return Library.open()


def _setup_id(library: "Library", given: str) -> str:
    """Return the id of a kept setup; a file is kept first."""
    from tapemark.services import read_setup
    from tapemark.services.library.keeping import keep
    from tapemark.services.photos.session_names import find_setup
    from tapemark.studio import setup_to_mapping

    if not given:
        return ""
    path = Path(given)
    if not path.is_file():
        return find_setup(library, given).id
    setup = read_setup(path)
    name, body = setup.title or path.stem, setup_to_mapping(setup)
    for line in library.kept("setup", name):
        if library.get(line.id).body == body:
            return line.id
    return keep(library, "setup", name=name, body=body, why=f"from {path.name}").id


def _tell(library: "Library", key: str, numbers: list[int], *, as_json: bool) -> None:
    from tapemark.services.photos.session_words import entry_as_plain, entry_text

    log = library.log(key)
    entries = [log.get(number) for number in numbers]
    if as_json:
        found = [entry_as_plain(log, one) for one in entries]
        click.echo(json.dumps(found, indent=2, ensure_ascii=False))
        return
    for one in entries:
        text = entry_text(log, one)
        if text:
            click.echo(text)
