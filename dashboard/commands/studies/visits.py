"""`coiltoll study visits`: what further clean visits add."""

from dashboard.commands.options import JsonOption


def visits(as_json: JsonOption = False) -> None:
    """Fit one, two and all published tests; print errors and widths of the 90 % ranges.

    The tests are the fault-free cooling tests of NISTIR 7350 (2006), with the documented accuracy of field
    meters.
    """
    from calibration.studies.visits import visits_study
    from dashboard.commands import terminal
    from dashboard.results.studies import reliability

    with terminal.progress("fitting tests") as progress:
        steps = visits_study(progress=progress)
    if as_json:
        terminal.print_json(reliability.visits_json(steps))
        return
    headings = ["", *(", ".join(step.fitted) if len(step.fitted) < 4 else "all tests" for step in steps)]
    terminal.print_table(
        "Root mean square errors on all tests", headings, reliability.visits_error_rows(steps)
    )
    terminal.print_table("Mean width of the 90 % ranges", headings, reliability.visits_width_rows(steps))
