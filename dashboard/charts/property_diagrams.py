"""Property diagrams: the pressure-enthalpy diagram of the refrigerant and the psychrometric chart of the air.

The states that are drawn come from results as plain arrays in SI; the background (saturation lines,
isotherms, lines of relative humidity and wet bulb) is asked of `model`. Units change here, on the way to the
axes.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from calibration.case.units import ENTHALPY, PRESSURE_DIFFERENCE, TEMPERATURE, Quantity, Scale, System
from dashboard.charts import style
from dashboard.charts.chart import Axis, Chart, Curve, Layer, Note
from dashboard.texts.translate import tr
from model.arrays import Array
from model.properties import moist_air
from model.properties.refrigerant import Refrigerant

ISOTHERM_STEP = {
    "US": 40.0,
    "SI": 20.0,
}  # between the fine lines of the pressure-enthalpy diagram [degF], [degC]
EDGE = 0.045  # share of the diagram's width at its right side that a note keeps clear of [-]
HIGHEST_SUPERHEAT = 90.0  # to which isotherms and axes reach [K]
MOISTURE = Quantity(
    "humidity ratio", Scale("gr/lb", 1.0 / 7000.0), Scale("g/kg", 1e-3)
)  # 7000 grains a pound
WET_BULB_STEP = {"US": 5.0, "SI": 2.5}  # between the fine lines of the psychrometric chart [degF], [degC]
HUMIDITIES = (0.2, 0.4, 0.6, 0.8)  # lines of relative humidity [-]


@dataclass(frozen=True)
class CycleTrace:
    """States to be drawn in a property diagram, in the order of the process.

    Parameters
    ----------
    name : str
        Name in the legend.
    role : Role
        Colour, dash and marker.
    x, y : ndarray, shape (n,)
        Enthalpy [J/kg] and absolute pressure [Pa]; or dry-bulb temperature [K] and humidity ratio [kg/kg].
    labels : tuple of str
        What each state is; n of them.
    closed : bool
        Whether the last state leads back to the first, in a cycle.
    """

    name: str
    role: style.Role
    x: Array
    y: Array
    labels: tuple[str, ...]
    closed: bool = True


def pressure_enthalpy_chart(refrigerant: Refrigerant, traces: Sequence[CycleTrace], system: System) -> Chart:
    """Pressure-enthalpy diagram with the saturation lines, isotherms and one closed line per cycle.

    Parameters
    ----------
    refrigerant : Refrigerant
        Whose saturation lines and isotherms are behind the cycles.
    traces : sequence of CycleTrace
        Cycles as enthalpy [J/kg] and absolute pressure [Pa].
    system : {"US", "SI"}
        Units of the axes.

    Returns
    -------
    Chart
        Enthalpy along x, pressure along y on a logarithmic axis.

    Raises
    ------
    ValueError
        If there is no trace.
    """
    if not traces:
        raise ValueError("traces must hold at least one cycle, got none")
    pressures = np.concatenate([trace.y for trace in traces])
    enthalpies = np.concatenate([trace.x for trace in traces])
    low, high = 0.55 * float(pressures.min()), 1.6 * float(pressures.max())
    margin = 0.2 * float(np.ptp(enthalpies))
    left, right = float(enthalpies.min()) - margin, float(enthalpies.max()) + margin
    layers: list[Layer] = [
        *_isotherms(refrigerant, (low, high), (left, right), system),
        *_saturation_lines(refrigerant, (low, high), system),
        *(_cycle(trace, system) for trace in traces),
    ]
    names = ", ".join(trace.name for trace in traces)
    return Chart(
        title=tr("Pressure-enthalpy diagram, {refrigerant}", refrigerant=refrigerant.name),
        description=tr(
            "Refrigerant cycle in the pressure-enthalpy diagram of {refrigerant}: {cycles}.",
            refrigerant=refrigerant.name,
            cycles=names,
        ),
        x=Axis(
            tr("enthalpy"),
            ENTHALPY.label(system),
            float(ENTHALPY.from_si(left, system)),
            float(ENTHALPY.from_si(right, system)),
        ),
        y=Axis(
            tr("pressure"),
            tr(
                "{unit} absolute",
                unit=PRESSURE_DIFFERENCE.label(system),
            ),
            float(PRESSURE_DIFFERENCE.from_si(low, system)),
            float(PRESSURE_DIFFERENCE.from_si(high, system)),
            log=True,
        ),
        layers=tuple(layers),
    )


def _cycle(trace: CycleTrace, system: System) -> Curve:
    order = [*range(trace.x.size), *([0] if trace.closed else [])]
    return Curve(
        ENTHALPY.from_si(trace.x[order], system),
        PRESSURE_DIFFERENCE.from_si(trace.y[order], system),
        trace.role,
        trace.name,
        markers=True,
        labels=tuple(trace.labels[i] for i in order),
    )


def _saturation_lines(refrigerant: Refrigerant, span: tuple[float, float], system: System) -> list[Curve]:
    top = min(span[1], refrigerant.maximum_pressure)
    saturation = refrigerant.saturation(np.geomspace(max(span[0], refrigerant.minimum_pressure), top, 90))
    pressure = PRESSURE_DIFFERENCE.from_si(saturation.pressure, system)
    return [
        Curve(ENTHALPY.from_si(enthalpy, system), pressure, style.BACKGROUND)
        for enthalpy in (saturation.liquid_enthalpy, saturation.vapour_enthalpy)
    ]


def _isotherms(
    refrigerant: Refrigerant, span: tuple[float, float], sides: tuple[float, float], system: System
) -> list[Layer]:
    """Fine lines of equal temperature, each with its temperature written near its lower end."""
    coolest = float(refrigerant.dew_temperature(span[0]))
    hottest = coolest + HIGHEST_SUPERHEAT + 40.0
    step = ISOTHERM_STEP[system]
    first = np.ceil(float(TEMPERATURE.from_si(coolest, system)) / step) * step
    layers: list[Layer] = []
    for number in np.arange(first, float(TEMPERATURE.from_si(hottest, system)), step):
        temperature = float(TEMPERATURE.to_si(float(number), system))
        enthalpy, pressure = _isotherm(refrigerant, temperature, span)
        inside = (enthalpy >= sides[0]) & (enthalpy <= sides[1])
        if inside.sum() < 3:
            continue
        x = ENTHALPY.from_si(enthalpy[inside], system)
        y = PRESSURE_DIFFERENCE.from_si(pressure[inside], system)
        name = "" if layers else tr("isotherms [{unit}]", unit=TEMPERATURE.label(system))
        roomy = np.flatnonzero(enthalpy[inside] <= sides[1] - EDGE * (sides[1] - sides[0]))
        place = min(int(roomy[-1]) if roomy.size else 0, x.size - 3)
        layers += [
            Curve(x, y, style.GUIDE, name),
            Note(float(x[place]), float(y[place]), f"{number + 0.0:g}"),
        ]
    return layers


def _isotherm(refrigerant: Refrigerant, temperature: float, span: tuple[float, float]) -> tuple[Array, Array]:
    """Enthalpy and pressure along one isotherm, from subcooled liquid at the top to vapour at the bottom."""
    if temperature >= 0.985 * refrigerant.critical_temperature:
        start = span[1]
        liquid_enthalpy, liquid_pressure = np.empty(0), np.empty(0)
    else:
        start = float(refrigerant.dew_pressure(temperature))
        liquid_pressure = np.array([span[1], float(refrigerant.bubble_pressure(temperature))])
        liquid_enthalpy = refrigerant.liquid_enthalpy(liquid_pressure, temperature)
    pressure = np.geomspace(max(start, span[0]), span[0], 30)
    superheat = temperature - refrigerant.dew_temperature(pressure)
    kept = (superheat >= -1e-3) & (pressure <= refrigerant.maximum_pressure)
    pressure, superheat = pressure[kept], superheat[kept]
    vapour = refrigerant.vapour(pressure, superheat)
    return np.concatenate([liquid_enthalpy, vapour.enthalpy]), np.concatenate([liquid_pressure, pressure])


def psychrometric_chart(traces: Sequence[CycleTrace], ambient_pressure: float, system: System) -> Chart:
    """Psychrometric chart with lines of relative humidity and of wet bulb, and one line per process.

    Parameters
    ----------
    traces : sequence of CycleTrace
        Processes of the air as dry-bulb temperature [K] and humidity ratio [kg/kg].
    ambient_pressure : float
        Local barometric pressure [Pa].
    system : {"US", "SI"}
        Units of the axes.

    Returns
    -------
    Chart
        Dry bulb along x, humidity ratio along y.

    Raises
    ------
    ValueError
        If there is no trace.
    """
    if not traces:
        raise ValueError("traces must hold at least one process, got none")
    temperatures = np.concatenate([trace.x for trace in traces])
    moisture = np.concatenate([trace.y for trace in traces])
    margin = 0.25 * max(float(np.ptp(temperatures)), 8.0)
    left, right = float(temperatures.min()) - margin, float(temperatures.max()) + margin
    top = 1.35 * float(moisture.max())
    layers: list[Layer] = [
        *_wet_bulb_lines((left, right), top, ambient_pressure, system),
        *_humidity_lines((left, right), top, ambient_pressure, system),
        *(_process(trace, system) for trace in traces),
    ]
    names = ", ".join(trace.name for trace in traces)
    return Chart(
        title=tr("Air through the indoor coil"),
        description=tr("Process of the indoor air in the psychrometric chart: {cycles}.", cycles=names),
        x=Axis(
            tr("dry bulb"),
            TEMPERATURE.label(system),
            float(TEMPERATURE.from_si(left, system)),
            float(TEMPERATURE.from_si(right, system)),
        ),
        y=Axis(tr("humidity ratio"), MOISTURE.label(system), 0.0, float(MOISTURE.from_si(top, system))),
        layers=tuple(layers),
    )


def _process(trace: CycleTrace, system: System) -> Curve:
    return Curve(
        TEMPERATURE.from_si(trace.x, system),
        MOISTURE.from_si(trace.y, system),
        trace.role,
        trace.name,
        markers=True,
        labels=trace.labels,
    )


def _humidity_lines(
    sides: tuple[float, float], top: float, ambient_pressure: float, system: System
) -> list[Layer]:
    """Saturation and lines of relative humidity, each with its percentage at its upper end."""
    temperature = np.linspace(*sides, 60)
    layers: list[Layer] = []
    for humidity in (*HUMIDITIES, 1.0):
        ratio = moist_air.humidity_ratio_from_relative_humidity(temperature, humidity, ambient_pressure)
        inside = ratio <= top
        if inside.sum() < 2:
            continue
        x = TEMPERATURE.from_si(temperature[inside], system)
        y = MOISTURE.from_si(ratio[inside], system)
        layers.append(Curve(x, y, style.BACKGROUND if humidity == 1.0 else style.GUIDE))
        layers.append(Note(float(x[-3]), float(y[-3]), f"{100.0 * humidity:.0f} %"))
    return layers


def _wet_bulb_lines(
    sides: tuple[float, float], top: float, ambient_pressure: float, system: System
) -> list[Layer]:
    """Fine lines of equal wet bulb, from saturation down to dry air."""
    step = WET_BULB_STEP[system]
    low, high = (float(TEMPERATURE.from_si(side, system)) for side in sides)
    layers: list[Layer] = []
    for number in np.arange(np.ceil(low / step) * step, high, step):
        wet_bulb = float(TEMPERATURE.to_si(float(number), system))
        temperature = np.linspace(wet_bulb, sides[1], 60)
        temperature = temperature[moist_air.wet_bulb(temperature, 0.0, ambient_pressure) <= wet_bulb]
        ratio = moist_air.humidity_ratio_from_wet_bulb(temperature, wet_bulb, ambient_pressure)
        inside = ratio <= top
        if inside.sum() < 2:
            continue
        x = TEMPERATURE.from_si(temperature[inside], system)
        y = MOISTURE.from_si(ratio[inside], system)
        name = "" if layers else tr("wet bulb [{unit}]", unit=TEMPERATURE.label(system))
        layers.append(Curve(x, y, style.WET_BULB_GUIDE, name))
        if ratio[inside][0] < 0.97 * top:
            layers.append(Note(float(x[0]), float(y[0]), f"{number + 0.0:g}"))
    return layers
