"""The commands of `coiltoll`, one module each, named like the command.

A module holds one public function named like the module, or a typer application named `app` for a command
with commands of its own. The function's docstring is its help. What it needs from `calibration` it imports
inside, so that `coiltoll --help` stays quick.
"""
