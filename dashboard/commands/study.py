"""`coiltoll study NAME`: accuracy of the model and of the inference, as tables."""

from importlib import import_module

import typer

STUDIES = (
    "laboratory",
    "published",
    "envelope",
    "readings",
    "coverage",
    "visits",
    "causes",
    "agreement",
    "policies",
    "fleet",
    "pooling",
    "nameplates",
    "track",
)
"""Modules of `dashboard.commands.studies`, in the order of the help."""

app = typer.Typer(
    help="Accuracy of the model and of the inference, as tables.",
    rich_markup_mode=None,
    no_args_is_help=True,
)
for _name in STUDIES:
    app.command(_name)(getattr(import_module(f"dashboard.commands.studies.{_name}"), _name))
