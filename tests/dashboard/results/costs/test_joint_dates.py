"""Joint dates in words, table and JSON say the same."""

from dataclasses import replace

from calibration.costs.recommendation import recommendation
from dashboard.results.costs.cleaning_advice import interval_json
from dashboard.results.costs.joint_dates import (
    FILTERS,
    joint_figures,
    joint_grounds,
    joint_json,
    joint_sentences,
    joint_table,
)
from dashboard.results.costs.when_words import date_words
from tests.calibration.costs.two_sided import found


def test_sentences_and_table_have_the_next_date_of_every_job():
    jobs = recommendation(found()).jobs
    text = " ".join(joint_sentences(found()))
    headings, rows = joint_table(found())
    assert headings[2] == "times in 5 years"
    for (name, dates), row in zip(jobs, rows, strict=True):
        assert name in row[0] and row[1] == date_words(dates[0]) and row[2] == str(len(dates))
        assert date_words(dates[0]) in text
    best, *alone, nothing = joint_figures(found())
    assert [one.text for one in alone] == [row[3] for row in rows]
    assert best.value < nothing.value and best.text in text and nothing.text in text


def test_json_and_grounds():
    shown = joint_json(found())
    assert interval_json(found(), "US")["joint"] == shown
    assert set(shown["dates"]) == {"condenser", "indoor coil", "filter"}
    assert FILTERS in joint_grounds(found())
    assert any("no rate of the filter given" in one for one in shown["ground"])


def test_without_a_plan_there_is_nothing():
    none = replace(found(), joint=None)
    assert joint_sentences(none) == [] and joint_grounds(none) == []
    assert joint_json(none) is None and joint_figures(none) == []


def test_what_never_pays_is_said():
    plan = found().joint
    none = replace(found(), joint=replace(plan, steps={**plan.steps, "indoor coil": ()}))
    assert "In 5 years it does not pay to clean the indoor coil." in joint_sentences(none)
    assert joint_table(none)[1][1][1] == "does not pay"
    idle = replace(found(), joint=replace(plan, steps=dict.fromkeys(plan.steps, ())))
    assert joint_sentences(idle)[0] == "No visit pays."
