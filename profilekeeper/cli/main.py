"""The program: collects the commands, and turns every expected error into one sentence and an exit code.

Exit codes: 0 all is well; 1 findings, differences or damage were found; 2 the command was not understood;
3 an expected error (one sentence says which); 70 a fault of the program itself; 130 interrupted.
"""

from __future__ import annotations

import gc
import os
import sys
from typing import Annotated

import typer

from profilekeeper.cli import (
    dryrun_commands,
    fleet_commands,
    machine_commands,
    place_commands,
    snapshot_commands,
    store_commands,
    touch_commands,
)
from profilekeeper.cli.options import close_stores
from profilekeeper.errors import ProfileKeeperError, UsageError

__all__ = ["app", "run"]

EXIT_FINDINGS, EXIT_USAGE, EXIT_ERROR, EXIT_FAULT, EXIT_INTERRUPTED = 1, 2, 3, 70, 130

app = typer.Typer(
    name="profilekeeper",
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["--help", "-h"], "max_content_width": 100},
    help=(
        "Keep every setting of your CNC stone machines: record it, check it, see what changed, put it back.\n\n"
        "Start with `profilekeeper demo`, or with `profilekeeper start FOLDER` and `profilekeeper add-machine`.\n\n"
        "Exit codes: 0 all is well, 1 findings or differences, 2 the command was not understood, "
        "3 an error told in one sentence, 70 a fault of this program, 130 interrupted."
    ),
)


def _version(wanted: bool) -> None:
    if wanted:
        from profilekeeper import __version__

        typer.echo(f"profilekeeper {__version__}")
        raise typer.Exit


@app.callback()
def _main(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Show the version and stop.")
    ] = False,
    no_color: Annotated[bool, typer.Option("--no-color", help="No colours (NO_COLOR does the same).")] = False,
) -> None:
    if no_color:
        os.environ["NO_COLOR"] = "1"


for part in (
    store_commands,
    snapshot_commands,
    machine_commands,
    place_commands,
    touch_commands,
    dryrun_commands,
    fleet_commands,
):
    part.add_to(app)


def run() -> None:
    """Run the program and leave with its exit code; no traceback reaches a user."""
    gc.set_threshold(100_000)  # a command is short: looking for garbage all the time costs it a tenth
    code = _exit_code()
    close_stores()
    sys.exit(code)


def _exit_code() -> int:
    try:
        code = app(standalone_mode=False)
    except ProfileKeeperError as error:
        typer.echo(f"profilekeeper: {error}", err=True)
        return EXIT_USAGE if isinstance(error, UsageError) else EXIT_ERROR
    except (KeyboardInterrupt, typer.Abort):
        typer.echo("profilekeeper: interrupted; nothing more was done", err=True)
        return EXIT_INTERRUPTED
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except typer.Exit as ended:
        return ended.exit_code
    except Exception as error:
        return _unexpected(error)
    return code if isinstance(code, int) else 0


def _unexpected(error: Exception) -> int:
    """A click usage error, or else a fault of ours, kept in a file for whoever mends it."""
    if hasattr(error, "format_message") and hasattr(error, "exit_code"):
        command = getattr(getattr(error, "ctx", None), "command_path", "profilekeeper")
        typer.echo(f"{command}: {error.format_message()} (see `{command} --help`)", err=True)
        return int(error.exit_code)
    import tempfile
    import traceback

    with tempfile.NamedTemporaryFile("w", prefix="profilekeeper-fault-", suffix=".txt", delete=False) as log:
        traceback.print_exception(error, file=log)
    typer.echo(f"profilekeeper: a fault of this program, not of yours; please send us {log.name}", err=True)
    return EXIT_FAULT
