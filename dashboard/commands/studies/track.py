"""`coiltoll study track`: how good a track of fouling is, on invented years with known fouling."""

from dataclasses import asdict
from typing import Annotated

import typer

from dashboard.commands.options import JsonOption
from dashboard.commands.studies.coverage import SeedOption

YearsCountOption = Annotated[int, typer.Option("--years", min=1, help="How many invented logs to track.")]


def track(years: YearsCountOption = 40, seed: SeedOption = 20_261_129, as_json: JsonOption = False) -> None:
    """Track invented logs of units that differ from the model, and count.

    Each log has two cooling seasons. Sensors have offsets, drifts and scatter; the coil fouls at a known rate
    and is cleaned on a day that nobody reports in half of the logs. Counted are days whose 90 % range
    contains the true level, the error of the growth rate, cleanings found within three days and changes
    reported though there were none.
    """
    from calibration.studies.track import track_study
    from dashboard.commands import terminal
    from dashboard.results import track as results

    with terminal.progress("tracking years") as progress:
        scores = track_study(years, seed, progress)
    if as_json:
        terminal.print_json({name: asdict(one) for name, one in scores.items()})
        return
    title = f"{years} invented log{'s' * (years > 1)} of two cooling seasons"
    terminal.print_table(title, results.STUDY_HEADINGS, results.study_rows(scores))
