"""`coiltoll study agreement`: whether all commands say the same about invented visits."""

from typing import TYPE_CHECKING, Annotated, Any

import typer

from dashboard.commands.options import JsonOption

if TYPE_CHECKING:
    from pathlib import Path

VisitsOption = Annotated[int, typer.Option("--visits", min=1, help="How many invented visits to look at.")]
SeedOption = Annotated[int, typer.Option("--seed", min=0, help="Of the draws.")]
COMMANDS = ("match", "compare", "measure", "season", "interval")
DRAWS = "20"
"""Monte Carlo draws of season and interval: ranges are not what is compared."""


def agreement(visits: VisitsOption = 500, seed: SeedOption = 20_261_129, as_json: JsonOption = False) -> None:
    """Run every command on invented visits with known faults and count what they say against each other.

    Compared are verdict, probability of fouling, suspect readings, fault level, loss and advice, each as
    `--json` prints it; and no cost of fouling may be negative. Five hundred visits take more than an hour.
    """
    import tempfile
    from pathlib import Path

    import numpy as np

    from calibration.diagnosis.hypotheses import hypotheses
    from calibration.studies.true_cases import drawn_case
    from dashboard.commands import terminal
    from dashboard.results.agreement import contradictions

    found: list[dict[str, Any]] = []
    weights = hypotheses()
    with tempfile.TemporaryDirectory() as folder, terminal.progress("running every command") as progress:
        for number in range(visits):
            true = drawn_case(np.random.default_rng([seed, number]), weights)
            case = _case_file(true, Path(folder))
            outputs = {name: _output(name, case) for name in COMMANDS}
            found += [
                {"visit": number, "truth": true.label, "contradiction": one}
                for one in contradictions(outputs)
            ]
            progress((number + 1) / visits)
    if as_json:
        terminal.print_json({"visits": visits, "seed": seed, "contradictions": found})
        return
    rows = [[str(one["visit"]), one["truth"], one["contradiction"]] for one in found]
    if rows:
        terminal.print_table("Contradictions", ["visit", "truth", ""], rows)
    terminal.print_lines(f"{len(found)} contradictions on {visits} invented visits, seed {seed}; 0 required.")


def _case_file(true: Any, folder: "Path") -> "Path":
    """A case file of an invented unit with its two visits, the demo's season and prices."""
    import datetime as dt
    from dataclasses import replace

    from calibration.case.file import read_case, write_case
    from dashboard.commands.demo import DEMO_CASE

    demo = read_case(DEMO_CASE)
    season = replace(demo.season, weather="bins") if demo.season is not None else None
    clean = replace(true.clean, date=dt.date(2026, 4, 20))
    visit = replace(true.found, date=dt.date(2026, 8, 20))
    path = folder / "invented.toml"
    write_case(
        replace(demo, unit=true.description, visits=(clean, visit), season=season, source=None, id=""), path
    )
    return path


def _output(name: str, case: "Path") -> Any:
    """What a command prints with `--json`."""
    import contextlib
    import io
    import json

    from dashboard.cli import run

    words = [name, str(case), "--json", *(["--draws", DRAWS] if name in ("season", "interval") else [])]
    printed = io.StringIO()
    with contextlib.redirect_stdout(printed):
        status = run(words)
    if status != 0:
        raise RuntimeError(f"{name} ended with status {status} on an invented visit")
    return json.loads(printed.getvalue())
