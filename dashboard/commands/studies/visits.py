"""`coiltoll study visits`: what more clean visits bring."""

from dashboard.commands.options import JsonOption


def visits(as_json: JsonOption = False) -> None:
    """Fit published tests one, two and all together; print errors and widths of intervals.

    The tests are the fault-free cooling tests of NISTIR 7350 (2006), read as with documented field meters.
    """
    from calibration.studies.visits import visits_study
    from dashboard.commands import terminal
    from dashboard.results import reliability

    with terminal.progress("fitting tests") as progress:
        steps = visits_study(progress=progress)
    if as_json:
        terminal.print_json(reliability.visits_json(steps))
        return
    headings = ["", *(", ".join(step.fitted) if len(step.fitted) < 4 else "all tests" for step in steps)]
    terminal.print_table(
        "Root mean square errors on all tests", headings, reliability.visits_error_rows(steps)
    )
    terminal.print_table("Mean width of the 90 % intervals", headings, reliability.visits_width_rows(steps))
