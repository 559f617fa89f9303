"""The `tapemark` command.

Nothing heavy is imported until a command runs, so that help comes at once.
"""

import gc
import sys

import click

from tapemark import __version__
from tapemark.cli.check import check
from tapemark.cli.demo import demo
from tapemark.cli.drill import drill
from tapemark.cli.export import export
from tapemark.cli.log import log
from tapemark.cli.map import map_command
from tapemark.cli.moves import moves
from tapemark.cli.open import open_command
from tapemark.cli.order import order
from tapemark.cli.own import own
from tapemark.cli.picture import picture
from tapemark.cli.plan import plan
from tapemark.cli.read import read
from tapemark.cli.schema import schema
from tapemark.cli.sheet import sheet
from tapemark.cli.sift import sift
from tapemark.cli.walkins import walkins
from tapemark.cli.watch import watch
from tapemark.errors import TapemarkError, WriteError

EXIT_DONE, EXIT_TROUBLE, EXIT_USAGE = 0, 1, 2
#: New objects between two searches for garbage. Modules are many objects and no garbage: with
#: Python's own 700 a tenth of the time that a command takes to start goes into searching.
SEARCHED_AFTER = 100_000


@click.group(
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 92},
    epilog="Start with: tapemark demo",
)
@click.version_option(__version__, prog_name="tapemark")
def commands() -> None:
    """Plan portrait light, and see what glasses will show before the test shot."""


commands.add_command(check)
commands.add_command(demo)
commands.add_command(drill)
commands.add_command(export)
commands.add_command(order)
commands.add_command(own)
commands.add_command(log)
commands.add_command(map_command)
commands.add_command(moves)
commands.add_command(open_command)
commands.add_command(picture)
commands.add_command(plan)
commands.add_command(read)
commands.add_command(schema)
commands.add_command(sheet)
commands.add_command(sift)
commands.add_command(walkins)
commands.add_command(watch)


def main() -> None:
    """Run the command line; every foreseen error ends in one clear message."""
    gc.set_threshold(SEARCHED_AFTER)
    try:
        sys.exit(commands.main(prog_name="tapemark", standalone_mode=False) or EXIT_DONE)
    except click.exceptions.Exit as done:
        sys.exit(done.exit_code)
    except click.ClickException as error:
        error.show()
        sys.exit(EXIT_USAGE)
    except (click.Abort, KeyboardInterrupt):
        click.echo("Stopped.", err=True)
        sys.exit(EXIT_TROUBLE)
    except WriteError as error:
        click.echo(str(error), err=True)
        sys.exit(EXIT_TROUBLE)
    except TapemarkError as error:
        click.echo(str(error), err=True)
        sys.exit(EXIT_USAGE)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(EXIT_TROUBLE)
    except OSError as error:
        click.echo(f"The answer cannot be written: {error.strerror or error}", err=True)
        sys.exit(EXIT_TROUBLE)
