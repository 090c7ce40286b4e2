"""`coiltoll study NAME`: how far the model and the inference can be trusted, as tables."""

from importlib import import_module

import typer

STUDIES = ("laboratory", "envelope", "readings", "coverage", "visits", "causes", "policies")
"""Modules of `dashboard.commands.studies`, in the order of the help."""

app = typer.Typer(
    help="Tables of how far the model and the inference can be trusted.",
    rich_markup_mode=None,
    no_args_is_help=True,
)
for _name in STUDIES:
    app.command(_name)(getattr(import_module(f"dashboard.commands.studies.{_name}"), _name))
