"""`tapemark own`: the library of own things, listed, taken along and brought back."""

import json
from dataclasses import asdict
from pathlib import Path

import click

from tapemark.cli.out_files import FILE_TO_WRITE

_ENDING = ".tapemark-library.json"


@click.group(epilog="Example: tapemark own list room")
def own() -> None:
    """List, export and import your own rooms, gear, glasses, sitters and setups."""


@own.command(name="list", epilog="Example: tapemark own list setup --search reading")
@click.argument("kind", required=False)
@click.option("--search", default="", metavar="WORDS", help="Only what has all these words.")
@click.option("--binned", is_flag=True, help="What lies in the bin instead.")
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON instead of text.")
def list_own(kind: str | None, *, search: str, binned: bool, as_json: bool) -> int:
    """List what is kept, the last changed first; all kinds or one KIND."""
    from tapemark.services.library.keeping import KINDS, Library

    if kind is not None and kind not in KINDS:
        raise click.UsageError(f'there is no kind "{kind}"; kinds are {", ".join(KINDS)}')
    with Library.open() as library:
        lines = library.kept(kind, search, binned=binned)
    if as_json:
        click.echo(json.dumps([asdict(line) for line in lines], indent=2, ensure_ascii=False))
        return 0
    for line in lines:
        click.echo(f"{line.kind:8} {line.name}  (changed {line.changed_at[:10]}, {line.id})")
    if not lines:
        click.echo("Nothing is kept yet." if not (search or kind or binned) else "Nothing found.")
    return 0


@own.command(name="export", epilog="Example: tapemark own export studio")
@click.argument("file", type=FILE_TO_WRITE)
@click.option("--id", "ids", multiple=True, metavar="ID", help="Only this thing; may be repeated.")
@click.option("--latest", is_flag=True, help="Without the versions before.")
@click.option("--no-pictures", is_flag=True, help="Without the small pictures of sessions.")
def export_own(file: Path, *, ids: tuple[str, ...], latest: bool, no_pictures: bool) -> int:
    """Write what is kept into one FILE that any tapemark can import."""
    from tapemark.services.library.keeping import Library

    path = file if file.name.endswith(".json") else file.with_name(file.name + _ENDING)
    with Library.open() as library:
        written = library.export_file(
            path, ids=ids or None, all_versions=not latest, pictures=not no_pictures
        )
    click.echo(f"wrote {written}", err=True)
    return 0


@own.command(name="import", epilog=f"Example: tapemark own import studio{_ENDING}")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON instead of text.")
def import_own(file: Path, *, as_json: bool) -> int:
    """Take in what an exported FILE holds, all of it or nothing; nothing of yours is replaced."""
    from tapemark.services.library.keeping import Library, import_file

    with Library.open() as library:
        report = import_file(library, file)
    if as_json:
        click.echo(json.dumps(asdict(report), indent=2, ensure_ascii=False))
        return 0
    click.echo(report.text)
    for thing in report.things:
        click.echo(f"  {thing.outcome:12} {thing.kind:8} {thing.name}")
    return 0


@own.command(name="rescue", epilog="Example: tapemark own rescue")
def rescue_own() -> int:
    """Set a damaged library aside and keep all of it that can be read in a new one."""
    from tapemark.services.library.keeping import library_path, rescue

    report = rescue(library_path())
    if report.aside is None:
        click.echo("The library is whole; nothing was done.")
        return 0
    click.echo(f"kept {report.things} things with {report.versions} versions")
    click.echo(f"the damaged file is now {report.aside}")
    return 0
