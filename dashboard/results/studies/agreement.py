"""Whether the outputs of one case agree: match, compare, measure, season, interval and report.

Every output is taken as its `--json` gives it, so that what is compared is what a person or a program gets,
not what it was made of.
"""

import json
from collections.abc import Callable, Mapping
from typing import Any

Output = Mapping[str, Any]

CLOSE = 1e-6
"""How far two printed numbers may lie apart and still be the same, over the larger of them [-]."""
LEAST_COST = -0.005
"""A cost of fouling below that is negative, in the currency of the case."""


def contradictions(outputs: Mapping[str, Output]) -> list[str]:
    """What the outputs of one case with one as-found visit say against each other.

    Parameters
    ----------
    outputs : mapping of str to mapping
        Output of each command by its name: match, compare, measure, season, interval and report, whose
        "words" are the sentences of its finding.

    Returns
    -------
    list of str
        A sentence for each contradiction; empty where all agree.
    """
    match, compared = outputs["match"]["matches"][0], outputs["compare"]["comparisons"][0]
    label = match["visit"]
    measured = next(one for one in outputs["measure"]["visits"] if one["label"] == label)["check"]
    season, interval = outputs["season"], outputs["interval"]
    found = [
        *_unlike(
            "verdict", {"match": match, "compare": compared, "measure": measured} | _costs(outputs), _verdict
        ),
        *_unlike(
            "probability of fouling", {"match": match, "compare": compared} | _costs(outputs), _probability
        ),
        *_unlike(
            "suspect readings",
            {"match": match, "compare": compared, "measure": measured} | _costs(outputs),
            _suspects,
        ),
    ]
    for lost, key, sign in (
        ("capacity_share", "net_capacity_change", -1.0),
        ("eer_share", "eer_change", -1.0),
    ):
        first, second = match["loss"]["today"][lost]["value"], sign * compared["losses"][key]["value"]
        if not _same(first, second):
            found.append(f"loss: match says {first:g} % of {lost}, compare {second:g} %")
    faces = [one for one in match["explained"] if one["key"] == "condenser_blocked"]
    for face in faces:
        levels = [one["severity"]["condenser_blocked"]["value"] for one in (face, compared)]
        if not _same(*levels):
            found.append(f"level: match says {levels[0]:g} % of the face, compare {levels[1]:g} %")
    coil = match["probability_of_fouling"] + match["probabilities"]["no_fault"]["probability"]
    if (interval["advice"] == "not_a_cleaning_matter") != (coil < 0.5):
        found.append(f"advice: interval says {interval['advice']} where the verdict is {match['verdict']}")
    if interval["advice"] == "now" and match["probability_of_fouling"] < 0.5:
        found.append("advice: interval says clean it now, but the coil is probably not fouled")
    if interval["advice"] == "not_a_cleaning_matter" and "clean it" in interval["headline"].lower():
        found.append(f"advice: cleaning is not the matter, but interval says {interval['headline']}")
    cost = season["year"]["today"]["money"]["value"]
    if cost < LEAST_COST:
        found.append(f"cost: season says that fouling saves {-cost:g}")
    return [*found, *_of_report(outputs["report"], match, interval)]


def _of_report(report: Output, match: Output, interval: Output) -> list[str]:
    """What the report says against match and interval."""
    found = _unlike("verdict", {"match": match, "report": report["match"]}, _verdict)
    found += _unlike("suspect readings", {"match": match, "report": report["match"]}, _suspects)
    for name, of_report in (("season", report["season"]), ("interval", report["interval"])):
        found += _unlike("verdict", {"match": match, f"report's {name}": of_report}, _verdict)
        found += _unlike(
            "probability of fouling", {"match": match, f"report's {name}": of_report}, _probability
        )
        found += _unlike("suspect readings", {"match": match, f"report's {name}": of_report}, _suspects)
    if report["interval"]["advice"] != interval["advice"]:
        found.append(f"advice: interval says {interval['advice']}, report {report['interval']['advice']}")
    words = " ".join(report["words"]).lower()
    if interval["advice"] == "not_a_cleaning_matter" and "clean it" in words:
        found.append(f"advice: cleaning is not the matter, but the report says {words}")
    return found


def unlike_printed(outputs: Mapping[str, Output], printed: Mapping[str, Output]) -> list[str]:
    """Where a command prints something else than the functions give that its output is made of.

    Parameters
    ----------
    outputs : mapping of str to mapping
        As for `contradictions`.
    printed : mapping of str to mapping
        What the commands printed, by their names; of `measure` every visit.

    Returns
    -------
    list of str
        A sentence for each command that does.
    """
    found = []
    for name, output in printed.items():
        expected, said = json.loads(json.dumps(outputs[name])), output
        if name == "measure":
            (wanted,) = expected["visits"]
            expected = wanted["check"]
            said = next(one for one in output["visits"] if one["label"] == wanted["label"])["check"]
        apart = [key for key, value in expected.items() if key not in said or not _same(value, said[key])]
        if apart:
            found.append(f"command: {name} prints another {', '.join(apart)} than its functions give")
    return found


def _costs(outputs: Mapping[str, Output]) -> dict[str, Output]:
    return {"season": outputs["season"], "interval": outputs["interval"]}


def _unlike(what: str, outputs: Mapping[str, Output], take: Callable[[Output], Any]) -> list[str]:
    """A sentence for each output that says something else than the first."""
    (first, wanted), *others = ((name, take(output)) for name, output in outputs.items())
    return [
        f"{what}: {first} says {wanted}, {name} {said}" for name, said in others if not _same(wanted, said)
    ]


def _verdict(output: Output) -> Any:
    return output["verdict"]


def _probability(output: Output) -> Any:
    return output["probability_of_fouling"]


def _suspects(output: Output) -> Any:
    return {key: one["supported"] for key, one in output["suspect_readings"].items()}


def _same(first: Any, second: Any) -> bool:
    if isinstance(first, float) and isinstance(second, float):
        return abs(first - second) <= CLOSE * max(abs(first), abs(second), 1.0)
    if isinstance(first, dict) and isinstance(second, dict):
        return first.keys() == second.keys() and all(_same(first[key], second[key]) for key in first)
    if isinstance(first, list) and isinstance(second, list):
        return len(first) == len(second) and all(map(_same, first, second))
    return bool(first == second)
