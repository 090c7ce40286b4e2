"""A track as sentences, rows, a table to be written, and JSON; the study of tracks as rows."""

import datetime as dt
import io
import re
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from calibration.case.comments import with_comments
from calibration.case.file import case_text
from calibration.track.events import ALIKE
from calibration.track.kept import JOINT, RATE_DIGITS
from dashboard.results.figures import SIGNIFICANT_DIGITS
from dashboard.results.wording import words_of
from dashboard.texts.translate import tr

if TYPE_CHECKING:
    import pandas as pd

    from calibration.case.records import Case
    from calibration.costs.recommendation import Recommendation
    from calibration.estimate import Estimate
    from calibration.studies.track import TrackScore
    from calibration.track.cleaning_day import TrackCosts
    from calibration.track.kept import KeptTrack
    from calibration.track.track import Track, TrackEvent

KEPT_HEADINGS = ("day", "what changed")
EVENT_HEADINGS = ("day", "what changed", "probability", "90 % range of the day")
STUDY_HEADINGS = (
    "readings",
    "level in 90 % range",
    "level error",
    "range width",
    "rate error, median",
    "rate in 90 % range",
    "cleanings found",
    "of 10 % of the face or more",
    "false events a year",
)
CANNOT_SEPARATE = (
    "A slow drift of the outdoor temperature sensor or of the liquid pressure sensor reads like fouling; "
    "compare both with another instrument before work is ordered."
)
SUFFIXES = (".csv", ".parquet")
CHANGES = {
    "known_cleaning": "coil clean, as the case says",
    "cleaned": "fouling removed: a cleaning",
    "washed": "part of the fouling removed: heavy rain or a rinse",
    "burst": "sudden fouling",
    "leak": "refrigerant leak begins",
    "charge_added": "refrigerant added",
    "condenser_fan": "outdoor fan moves less air",
    "low_indoor_airflow": "indoor airflow drops",
    "indoor_filter": "indoor airflow falls slowly",
}


def kind_words(kind: str) -> str:
    """What changed, in words.

    Parameters
    ----------
    kind : str
        Of `calibration.track.track.TrackEvent`.

    Returns
    -------
    str
    """
    form, _, reading = kind.partition(":")
    if not reading:
        return tr(CHANGES[kind])
    if form == "step":
        return tr("{reading}: sensor shifts", reading=words_of(reading))
    return tr("{reading}: sensor drifts", reading=words_of(reading))


def event_words(event: "TrackEvent") -> str:
    """What changed; every kind that the readings cannot separate.

    Parameters
    ----------
    event : TrackEvent

    Returns
    -------
    str
    """
    likely = [(kind, share) for kind, share in event.kinds if share >= ALIKE] or list(event.kinds[:1])
    if len(likely) == 1:
        return kind_words(likely[0][0])
    return tr(" or ").join(f"{kind_words(kind)} ({100 * share:.0f} %)" for kind, share in likely)


def event_rows(track: "Track") -> list[list[str]]:
    """Cells under `EVENT_HEADINGS`.

    Parameters
    ----------
    track : Track

    Returns
    -------
    list of list of str
    """
    return [
        [
            event.day.isoformat(),
            event_words(event),
            f"{100 * event.probability:.0f} %",
            tr("{first} to {last}", first=event.first.isoformat(), last=event.last.isoformat()),
        ]
        for event in track.events
    ]


def change_words(kinds: str) -> str:
    """What changed, in words, where only the kinds are kept.

    Parameters
    ----------
    kinds : str
        Of `calibration.track.kept.KeptTrack.changes`; a kind that is not known stays as it is written.

    Returns
    -------
    str
    """
    return JOINT.join(_words_if_known(kind) for kind in kinds.split(JOINT))


def _words_if_known(kind: str) -> str:
    return kind_words(kind) if kind in CHANGES or ":" in kind else kind


def kept_change_rows(track: "KeptTrack") -> list[list[str]]:
    """Cells under `KEPT_HEADINGS`.

    Parameters
    ----------
    track : KeptTrack

    Returns
    -------
    list of list of str
    """
    return [[day.isoformat(), change_words(kinds)] for day, kinds in track.changes]


def growth_lines(track: "Track") -> list[str]:
    """The growth rate with its range as `[cleaning]` of a case file takes them.

    Parameters
    ----------
    track : Track

    Returns
    -------
    list of str
        The rate's own line first, with the last day of the log as a comment.
    """
    last = _moment(track.seconds[-1]).date()
    return [
        f"growth_rate = {track.rate:.{RATE_DIGITS}f}  # from a log until {last}",
        f"growth_rate_low = {track.rate_low:.{RATE_DIGITS}f}",
        f"growth_rate_high = {track.rate_high:.{RATE_DIGITS}f}",
    ]


def remarked_text(case: "Case", former: str, track: "Track") -> str:
    """Text of a case with the comments of its file, and the day of the log beside the growth rate.

    Parameters
    ----------
    case : Case
        With the growth of the track, `calibration.track.kept.with_track`.
    former : str
        Text of its file so far; what was said there beside the growth rate belongs to the former rate.
    track : Track

    Returns
    -------
    str
        From which `calibration.case.file.write_case` takes the comments.
    """
    text = with_comments(case_text(case), former)
    return re.sub("^growth_rate = .*$", growth_lines(track)[0], text, count=1, flags=re.MULTILINE)


def level_sentences(track: "KeptTrack", costs: "TrackCosts | None", currency: str) -> list[str]:
    """Level, growth, cost and the day when cleaning pays.

    Parameters
    ----------
    track : KeptTrack
    costs : TrackCosts or None
        Of the same track; None without a price of a cleaning.
    currency : str
        Of the case.

    Returns
    -------
    list of str
    """
    lines = [
        tr(
            "Blocked share of the condenser's face on {last_day}: {level} % (90 % range {low} to {high} %).",
            last_day=track.last_day,
            level=f"{100 * track.level[-1]:.0f}",
            low=f"{100 * track.low[-1]:.0f}",
            high=f"{100 * track.high[-1]:.0f}",
        ),
        tr(
            "Growth: {rate} % of the face a year (90 % range {rate_low} to {rate_high} %).",
            rate=f"{100 * track.rate:.1f}",
            rate_low=f"{100 * track.rate_low:.1f}",
            rate_high=f"{100 * track.rate_high:.1f}",
        ),
    ]
    if costs is None:
        return lines
    first, date = _moment(track.seconds[0]).date(), costs.advised.date
    lines.append(
        tr(
            "Cost of the fouling from {first} to {last_day}: {so_far}; in the twelve months "
            "after, if nobody cleans: {to_come}.",
            first=first,
            last_day=track.last_day,
            so_far=_money(costs.so_far, currency),
            to_come=_money(costs.to_come, currency),
        )
    )
    return [
        *lines,
        tr("Cleaning pays on {date}.", date=date) if date else tr("No cleaning pays in the years ahead."),
    ]


def _money(cost: "Estimate", currency: str) -> str:
    """An amount with its range; the sign is that of the loss."""
    return tr(
        "{cost} {currency} (90 % range {low} to {high})",
        cost=f"{cost.value:.0f}",
        currency=currency,
        low=f"{cost.low:.0f}",
        high=f"{cost.high:.0f}",
    )


def ground_sentences(track: "Track") -> list[str]:
    """What a track rests on, and what it cannot separate.

    Parameters
    ----------
    track : Track

    Returns
    -------
    list of str
    """
    first, last = _moment(track.seconds[0]).date(), _moment(track.seconds[-1]).date()
    count = int(track.stretches.sum())
    lines = [
        tr(
            "From {count} steady stretches on {days} days, {first} to {last}, in {rows} rows "
            "({left_out} could not be used). Model fit: χ² {misfit} per reading; about 1 is "
            "expected from measurement error alone.",
            count=count,
            days=len(track.seconds),
            first=first,
            last=last,
            rows=track.rows,
            left_out=track.left_out,
            misfit=f"{track.misfit:.1f}",
        ),
        tr("Readings used: ") + ", ".join(words_of(name) for name in track.readings) + ".",
    ]
    if track.assumed:
        lines.append(
            tr("Not logged, usual values with their spread: ")
            + ", ".join(words_of(name) for name in track.assumed)
            + "."
        )
    if not track.known_clean:
        lines.append(
            tr(
                "No cleaning and no clean visit with a date is known: the growth is measured, the "
                "level itself is only as certain as the unit's baseline. Enter last_cleaned under "
                "[cleaning] to narrow it."
            )
        )
    lines.append(tr(CANNOT_SEPARATE))
    if track.flagged.any():
        lines.append(
            tr(
                "{number} days fit no level and count little; they are flagged.",
                number=int(track.flagged.sum()),
            )
        )
    return [*lines, *(tr("Log: {remark}.", remark=remark) for remark in track.remarks)]


def track_json(track: "Track", costs: "TrackCosts | None") -> dict[str, Any]:
    """The track for `--json`.

    Parameters
    ----------
    track : Track
    costs : TrackCosts or None
        Of the same track.

    Returns
    -------
    dict
        JSON-like; levels and rates are shares of the face.
    """
    cleaning, so_far, to_come = None, None, None
    if costs is not None:
        advised: Recommendation = costs.advised
        cleaning = {"advice": advised.advice, "date": advised.date.isoformat() if advised.date else None}
        so_far, to_come = (_range(one.value, one.low, one.high) for one in (costs.so_far, costs.to_come))
    return {
        "level": _range(float(track.level[-1]), float(track.low[-1]), float(track.high[-1])),
        "growth_rate": _range(track.rate, track.rate_low, track.rate_high),
        "events": [
            {
                "day": event.day.isoformat(),
                "first": event.first.isoformat(),
                "last": event.last.isoformat(),
                "what": event.kind,
                "words": event_words(event),
                "probability": _short(event.probability),
                "kinds": {kind: _short(share) for kind, share in event.kinds},
            }
            for event in track.events
        ],
        "cost_so_far": so_far,
        "cost_to_come": to_come,
        "cleaning": cleaning,
        "days": len(track.seconds),
        "stretches": int(track.stretches.sum()),
        "flagged_days": int(track.flagged.sum()),
        "readings": list(track.readings),
        "assumed": list(track.assumed),
        "known_clean": [day.isoformat() for day in track.known_clean],
        "misfit": _short(track.misfit),
        "rows": track.rows,
        "left_out": track.left_out,
        "remarks": list(track.remarks),
    }


def _range(value: float, low: float, high: float) -> dict[str, float]:
    return {"value": _short(value), "low": _short(low), "high": _short(high)}


def _short(value: float) -> float:
    return float(f"{value:.{SIGNIFICANT_DIGITS}g}")


def _moment(seconds: float) -> dt.datetime:
    return dt.datetime(1970, 1, 1) + dt.timedelta(seconds=round(float(seconds)))


def track_frame(track: "Track") -> "pd.DataFrame":
    """The track as a table: a row a day (and stage) with a steady stretch.

    Parameters
    ----------
    track : Track

    Returns
    -------
    pandas.DataFrame
        Columns time, level, level_low, level_high, event, stretches, fits.
    """
    import pandas as pd

    times = [_moment(one) for one in track.seconds]
    words: list[str] = [""] * len(times)
    for event in track.events:
        place = next((n for n, time in enumerate(times) if time.date() >= event.day), len(times) - 1)
        words[place] = "; ".join(filter(None, [words[place], event_words(event)]))
    return pd.DataFrame(
        {
            "time": times,
            "level": track.level.round(4),
            "level_low": track.low.round(4),
            "level_high": track.high.round(4),
            "event": words,
            "stretches": track.stretches,
            "fits": ~track.flagged,
        }
    )


def track_file(track: "Track", path: Path) -> bytes:
    """Content of the table as a file.

    Parameters
    ----------
    track : Track
    path : Path
        Its ending, one of `SUFFIXES`, says which kind.

    Returns
    -------
    bytes
    """
    frame = track_frame(track)
    if path.suffix.lower() == ".parquet":
        content = io.BytesIO()
        frame.to_parquet(content, index=False)
        return content.getvalue()
    return frame.to_csv(index=False, date_format="%Y-%m-%dT%H:%M:%S").encode("utf-8")


def study_rows(scores: "Mapping[str, TrackScore]") -> list[list[str]]:
    """Cells under `STUDY_HEADINGS`, one row a set of readings.

    Parameters
    ----------
    scores : mapping of str to TrackScore
        `calibration.studies.track.track_study`.

    Returns
    -------
    list of list of str
    """
    return [
        [
            name,
            f"{100 * one.coverage:.0f} %",
            f"{one.level_error:.3f}",
            f"{one.width:.3f}",
            f"{100 * one.rate_error:.0f} %",
            f"{100 * one.rate_coverage:.0f} %",
            tr("{found} of {cleanings}", found=one.found, cleanings=one.cleanings),
            tr("{larger_found} of {larger}", larger_found=one.larger_found, larger=one.larger),
            f"{one.false_events:.1f}",
        ]
        for name, one in scores.items()
    ]
