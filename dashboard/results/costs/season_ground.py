"""What the cost of a season rests on: weather, load, tariff, fouling and its growth, and what was assumed."""

import numpy as np

from calibration.case.units import CAPACITY, System
from calibration.costs.fouled_unit import WEATHER_SPREAD, FouledUnit
from calibration.costs.season_case import SeasonCase
from calibration.costs.season_cost import SeasonFindings
from dashboard.results.costs.winter import winter_ground
from dashboard.results.figures import of_quantity, with_interval
from dashboard.texts.translate import tr


def ground_sentences(found: SeasonFindings, system: System) -> list[str]:
    """Basis of the season: weather, load, tariff, fouling, and every assumed value."""
    unit, tariff = found.unit, found.inputs.setting.tariff
    carbon = tr("hourly amounts") if tariff.carbon_by_hour else f"{tariff.carbon_intensity:g} kg"
    return [
        _weather_sentence(found, system),
        tr(
            "Electricity: {price}; {carbon} of carbon dioxide per kWh.",
            price=_price_words(found),
            carbon=carbon,
        ),
        _fouling_sentence(found),
        *_speed_sentences(found.inputs),
        *_air_sentences(found.inputs),
        *(tr("Assumed: {assumption}.", assumption=tr(one)) for one in found.inputs.assumptions),
        *winter_ground(found),
        tr(
            "90 % ranges from {draws} draws of the unit, its fouling and growth, the load "
            "({load} % either way), the year's weather ({kelvin} K) and the trip setting, spread "
            "evenly over all that they can be together.",
            draws=unit.tables.samples,
            load=f"{100.0 * unit.load_spread:.0f}",
            kelvin=f"{WEATHER_SPREAD:g}",
        ),
    ]


def _weather_sentence(found: SeasonFindings, system: System) -> str:
    year, load = found.inputs.setting.year, found.inputs.setting.load
    most = of_quantity("", "", float(load.total.max()), CAPACITY, system)
    typical = tr("typical year of {place}", place=year.place)
    return tr(
        "Weather: {year}; {hours} cooling hours, peak load {load}{bill}.",
        year=typical if year.is_hourly else tr("temperature bins of AHRI 210/240"),
        hours=f"{float(np.sum(year.duration[load.total > 0.0])):,.0f}",
        load=with_interval(most),
        bill=_bill_words(found.unit),
    )


def _fouling_sentence(found: SeasonFindings) -> str:
    unit = found.unit
    low, high = (100.0 * float(v) for v in np.quantile(unit.levels, [0.05, 0.95]))
    return tr(
        "Fouling: {level} % of the condenser's face blocked ({low} to {high} %), from {source}; {growth}.",
        level=f"{100.0 * unit.level:.0f}",
        low=f"{low:.0f}",
        high=f"{high:.0f}",
        source=tr(unit.level_from),
        growth=_growth_words(found),
    )


def _bill_words(unit: FouledUnit) -> str:
    """What a bill said of the load, empty without one."""
    if unit.billed_factor is None:
        return ""
    return tr(
        ", {factor} times the one given or assumed, from the bill",
        factor=f"{unit.billed_factor:.2f}",
    )


def _speed_sentences(inputs: SeasonCase) -> list[str]:
    """How a compressor of several speeds meets a part of the load; none for a single speed."""
    speeds = [f"{100.0 * float(np.asarray(room.compressor_speed)):.0f} %" for room in inputs.rooms]
    if len(speeds) == 1:
        return []
    if inputs.setting.running.between_speeds == "varies":
        return [
            tr(
                "Compressor: variable speed from {low} to {high} of full, cycling at less "
                "load; it slows down before it trips.",
                low=speeds[0],
                high=speeds[-1],
            )
        ]
    return [
        tr(
            "Compressor: {number} stages, {speeds} of full speed; it cycles at the lowest and "
            "alternates between two for a load between them.",
            number=len(speeds),
            speeds=tr(" and ").join(speeds),
        )
    ]


def _air_sentences(inputs: SeasonCase) -> list[str]:
    """What a blower that always runs and an economiser do to the season; none without them."""
    lines = []
    if inputs.setting.running.blower_always_on:
        lines.append(
            tr("The blower runs in every hour: its watts are in the electricity, its heat is in the load.")
        )
    if inputs.economiser_hours:
        lines.append(
            tr(
                "The economiser takes {hours} hours with a load from the season; what its "
                "fan uses then is not in these figures.",
                hours=f"{inputs.economiser_hours:,.0f}",
            )
        )
    return lines


def _price_words(found: SeasonFindings) -> str:
    tariff, currency = found.inputs.setting.tariff, found.inputs.currency
    words = tr("{price} {currency} per kWh", price=f"{tariff.price_per_kwh:g}", currency=currency)
    if tariff.energy_rates:
        prices = sorted({rate.price_per_kwh for rate in tariff.energy_rates})
        words += tr(", {prices} at some hours", prices=", ".join(f"{price:g}" for price in prices))
    for block in tariff.blocks:
        words += tr(
            ", {adds} above {amount} kWh a month",
            adds=f"{block.adds:+g}",
            amount=f"{block.above_kwh:,.0f}",
        )
    if tariff.demand_rates:
        charge = sum(rate.price_per_kw for rate in tariff.demand_rates)
        words += tr(
            ", {charge} {currency} per kW and month of the unit's own highest hour",
            charge=f"{charge:g}",
            currency=currency,
        )
    if tariff.escalation:
        words += tr(", rising {percent} % a year", percent=f"{100.0 * tariff.escalation:g}")
    return words


def _growth_words(found: SeasonFindings) -> str:
    growth = found.unit.growth
    words = tr(
        "growing by {rate} points a year from clean",
        rate=f"{100.0 * float(np.asarray(growth.rate)):.0f}",
    )
    if growth.law == "asymptotic":
        words += tr(" towards {limit} %", limit=f"{100.0 * float(np.asarray(growth.limit)):.0f}")
    if growth.bursts:
        share = sum(burst.share for burst in growth.bursts)
        words += tr(", {share} % of it in bursts", share=f"{100.0 * share:.0f}")
    return f"{words} ({tr(found.unit.growth_from)})"
