"""A case of many clean visits, for what must not grow faster than their number. Invented, as the demo is."""

from pathlib import Path

DEMO = (Path(__file__).parents[1] / "cases" / "demo.toml").read_text(encoding="utf-8")


def case_of_clean_visits(folder: Path, count: int) -> str:
    """Path of a case with the demo's clean visit in as many weathers, written into a folder."""
    head, clean, rest = DEMO.split("[[visit]]")[:3]
    tail = rest[rest.index("[instruments]") :]
    visits = [
        clean.replace("spring, coil clean", f"visit {number} of {count}")
        .replace("outdoor_db = 82.4", f"outdoor_db = {82.4 + 0.1 * number:.1f}")
        .replace("liquid_pressure = 333", f"liquid_pressure = {333 + 0.5 * number:.1f}")
        for number in range(count)
    ]
    path = folder / f"{count}.toml"
    path.write_text("[[visit]]".join([head, *visits]) + tail, encoding="utf-8")
    return str(path)
