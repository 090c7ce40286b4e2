"""Cautions that go with every result that sends somebody to a unit.

Sources: EPA Section 608 (40 CFR part 82, subpart F) for certification in the United States; NFPA 70E for live
electrical work; ASHRAE Standard 34 for the safety classes of refrigerants. Named, not quoted.
"""

from dashboard.texts.translate import tr

GENERAL = (
    "Refrigerant gauges are for licensed and certified people only: EPA Section 608 in the United States, "
    "local law elsewhere.",
    "Lock out the supply and let capacitors discharge before a panel is opened; live electrical work is for "
    "qualified people (NFPA 70E).",
    "The limits on the nameplate come before every rule of thumb and every figure here; local codes prevail.",
    "Never block a running coil to test or to show something.",
)

FLAMMABLE = {
    "A2L": "{name} is mildly flammable (class A2L): no ignition source near an open circuit, leak detector "
    "and tools rated for it, and the rules for A2L refrigerants.",
    "A3": "{name} is highly flammable (class A3): no ignition source near an open circuit, the charge limits "
    "and the rules for A3 refrigerants.",
}


def cautions(refrigerant: str, safety_class: str) -> tuple[str, ...]:
    """Sentences to print under a result.

    Parameters
    ----------
    refrigerant : str
        Its name.
    safety_class : str
        Class after ASHRAE Standard 34: "A1", "A2L" or "A3".

    Returns
    -------
    tuple of str
        The general cautions, and one for a flammable refrigerant.

    Raises
    ------
    ValueError
        If the class is not known.
    """
    if safety_class == "A1":
        return tuple(tr(one) for one in GENERAL)
    if safety_class not in FLAMMABLE:
        raise ValueError(f"safety_class must be one of A1, {', '.join(FLAMMABLE)}, got {safety_class!r}")
    return (*(tr(one) for one in GENERAL), tr(FLAMMABLE[safety_class], name=refrigerant))
