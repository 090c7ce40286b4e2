"""The printed report's section on a trend log that the case keeps."""

from calibration.case.records import Case
from calibration.case.units import System
from calibration.clean_fit.baseline import Baseline
from calibration.track.cleaning_day import track_costs
from calibration.track.kept import kept_track
from dashboard.charts.draw_svg import svg
from dashboard.charts.track_chart import track_chart, warmth_chart
from dashboard.report.parts import Picture, Points, Section
from dashboard.results import track as results
from dashboard.texts.translate import tr

LEVEL_SIZE, WEATHER_SIZE = (180.0, 70.0), (180.0, 45.0)  # [mm]


def track_sections(case: Case, baseline: Baseline, system: System) -> tuple[Section, ...]:
    """Level over time, weather and changes, growth and cost; nothing of a case that keeps no track.

    Parameters
    ----------
    case : Case
    baseline : Baseline
        `calibration.clean_fit.baseline.baseline_of(case)`.
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    tuple of Section
        One or none.
    """
    kept = kept_track(case)
    if kept is None:
        return ()
    level, weather = track_chart(kept), warmth_chart(kept, system)
    lines = results.level_sentences(kept, track_costs(case, baseline, kept), case.currency)
    lines += [f"{day}: {words}." for day, words in results.kept_change_rows(kept)]
    return (
        Section(
            tr("Fouling over the months of a log"),
            (
                Picture(svg(level, *LEVEL_SIZE), level.description),
                Points((*lines, tr(results.CANNOT_SEPARATE))),
                Picture(svg(weather, *WEATHER_SIZE), weather.description),
            ),
        ),
    )
