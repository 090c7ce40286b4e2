"""The command line `coiltoll`: finds the commands and turns errors into one line and an exit status.

Status 0: done. 2: the input or the call is wrong, one line for each problem on standard error. 130: stopped
by Ctrl-C. 1: an internal error, named in one line; with COILTOLL_TRACEBACK=1 in the environment it comes with
its traceback instead.
"""

import os
import sys
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path
from typing import Annotated

import typer

COMMANDS = (
    "steady-state",
    "track",
    "measure",
    "calibrate",
    "predict",
    "heating",
    "compare",
    "match",
    "season",
    "interval",
    "report",
    "fleet",
    "plan",
    "study",
    "demo",
    "app",
)
"""Commands in the order of the help; each is a module of that name in `dashboard.commands`."""

THREADED = ("OMP", "OPENBLAS", "MKL")
"""Linear algebra that starts a thread a processor; on our small matrices these only wait, for a third more
processor time. Left alone where the environment says how many."""

EPILOG = (
    "Only licensed and certified people take the readings. The nameplate's limits and local codes come "
    "before anything printed here. Never block a running coil."
)


def application() -> typer.Typer:
    """Typer application with every command.

    Returns
    -------
    typer.Typer
        Without Rich help, which would cost a third of a second at each start.
    """
    app = typer.Typer(
        name="coiltoll",
        help="What a fouled coil costs one air conditioner: pressures, capacity, power and money.",
        epilog=EPILOG,
        add_completion=False,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    )
    app.callback()(_options)
    for name in COMMANDS:
        module_name = name.replace("-", "_")
        module = import_module(f"dashboard.commands.{module_name}")
        if isinstance(getattr(module, "app", None), typer.Typer):
            app.add_typer(module.app, name=name)
        else:
            app.command(name)(getattr(module, module_name))
    return app


def _show_version(wanted: bool) -> None:
    if wanted:
        from importlib.metadata import version

        typer.echo(f"coiltoll {version('coiltoll')}")
        raise typer.Exit


def _options(
    version: Annotated[
        bool,
        typer.Option("--version", help="Print the version and stop.", callback=_show_version, is_eager=True),
    ] = False,
) -> None:
    pass


def run(argv: Sequence[str] | None = None) -> int:
    """Run one command.

    Parameters
    ----------
    argv : sequence of str, optional
        Words after `coiltoll`; those of the process by default.

    Returns
    -------
    int
        Exit status.
    """
    _make_streams_writable()
    for library in THREADED:
        os.environ.setdefault(f"{library}_NUM_THREADS", "1")
    words = list(sys.argv[1:] if argv is None else argv) or ["--help"]
    try:
        status = _status(words)
        sys.stdout.flush()
    except BrokenPipeError:
        _leave_a_closed_pipe_alone()
        return 0
    return status


def _status(words: list[str]) -> int:
    """Exit status of a command; every known exception becomes a line on standard error here."""
    try:
        done = application()(args=words, prog_name="coiltoll", standalone_mode=False)
        if done == 130:
            raise KeyboardInterrupt
        return int(done or 0)
    except KeyboardInterrupt:
        return _say(["stopped; nothing was written after the last complete file"], 130)
    except typer.TyperException as problem:
        message = problem.format_message()
        if message.startswith("Usage:"):  # a command of commands without one
            typer.echo(message, err=True)
            return 2
        return _say([f"{_value_refused(problem) or message} See `coiltoll --help`."], 2)
    except SystemExit as stop:  # typer's answer to a closed pipe
        raise BrokenPipeError from stop
    except BrokenPipeError:
        raise
    except OSError as problem:
        return _say([f"{problem.filename or 'file'}: {problem.strerror or problem}"], 2)
    except ValueError as problem:
        if os.environ.get("COILTOLL_TRACEBACK"):
            raise
        return _say(str(problem).splitlines(), 2)
    except Exception as problem:
        if os.environ.get("COILTOLL_TRACEBACK"):
            raise
        message = f"internal error, not caused by the input: {type(problem).__name__}: {problem}"
        return _say([*message.splitlines()[:1], "set COILTOLL_TRACEBACK=1 and run it again to see where"], 1)


def _value_refused(problem: typer.TyperException) -> str:
    """Which option, which value, what is expected; empty where the problem is not one of a value."""
    from pydantic import ValidationError

    reason, names = problem.__cause__, getattr(getattr(problem, "param", None), "opts", None)
    if not names or not isinstance(reason, ValidationError):
        return ""
    first = reason.errors()[0]
    expected = {
        "float_parsing": "a number",
        "int_parsing": "a whole number",
        "int_from_float": "a whole number",
    }
    if first["type"] == "value_error":
        return f"{names[0]}: {first['msg'].removeprefix('Value error, ')}"
    words = expected.get(first["type"], first["msg"].removeprefix("Input should be "))
    return f"{names[0]}: got {first['input']!r}; {words} is expected."


def _say(lines: Sequence[str], status: int) -> int:
    from dashboard.commands.terminal import harmless

    for line in lines:
        typer.echo(f"coiltoll: {harmless(line)}", err=True)
    return status


def _make_streams_writable() -> None:
    """Give a closed stream nothing to write to, and one that is not UTF-8 substitutes for what it lacks.

    A closed one would else fail on the first line, and the next file opened would take its number.
    """
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:
            setattr(sys, name, Path(os.devnull).open("w", encoding="utf-8"))  # noqa: SIM115
        elif hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace" if name == "stderr" else "replace")


def _leave_a_closed_pipe_alone() -> None:
    """Point standard output at nothing, so that the interpreter does not fail on its last flush."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


if __name__ == "__main__":
    sys.exit(run())
