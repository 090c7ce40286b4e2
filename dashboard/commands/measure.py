"""`coiltoll measure CASE`: what the readings of each visit say about the unit."""

from dashboard.options import CaseArgument, JsonOption, UnitsOption


def measure(case: CaseArgument, as_json: JsonOption = False, units: UnitsOption = None) -> None:
    """Measured performance of every visit.

    Saturation temperatures, superheat, subcooling, approach, capacity, power, EER and COP, each with the 90 %
    interval that the meters' accuracies give it, and what a reading that was not taken would add.
    """
    from calibration.case_file import read_case
    from calibration.performance import measured_performance
    from dashboard import measured, text

    told = read_case(case)
    if not told.visits:
        raise ValueError(f"{case}: has no visit; at least one [[visit]] is expected")
    system = units.value if units else told.units
    performances = [measured_performance(visit, told.unit, told.instruments) for visit in told.visits]
    if as_json:
        text.print_json(measured.measured_json(told, performances, system))
        return
    names = [visit.label for visit in told.visits]
    readings = [measured.reading_figures(visit, system) for visit in told.visits]
    figures = [measured.performance_figures(performance, system) for performance in performances]
    text.print_lines(*told.remarks, f"{told.unit.name}, {told.unit.refrigerant}, {told.unit.expansion}", "")
    text.print_figures("Readings", list(zip(names, readings, strict=True)))
    text.print_figures("Measured performance", list(zip(names, figures, strict=True)))
    for name, performance in zip(names, performances, strict=True):
        text.print_lines(*(f"{name}: {sentence}." for sentence in measured.missing_sentences(performance)))
