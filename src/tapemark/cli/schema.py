"""`tapemark schema`: the JSON Schema of a setup file."""

import json

import click


@click.command(epilog="Example: tapemark schema > setup.schema.json")
def schema() -> int:
    """Print the JSON Schema of a setup file, for editors that complete and check as one types."""
    from tapemark.services import json_schema

    click.echo(json.dumps(json_schema(), indent=2, ensure_ascii=False))
    return 0
