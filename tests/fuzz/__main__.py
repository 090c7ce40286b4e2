"""Fuzzing of every reader and command for as long as one likes: `python -m tests.fuzz [seconds [seed]]`.

Files are the demo case and its tables with random changes; every command runs on them in this process. What
ends otherwise than it should is kept in a folder that is named at the end, with the words of the command.
"""

import random
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from calibration.case.errors import CaseError
from calibration.files.visit_table import guessed_keys, read_visit_table, visit_entries
from dashboard.cli import COMMANDS
from dashboard.texts.language_file import read_language
from dashboard.texts.translate import in_language, tr, tr_many
from tests.fuzz.hostile_files import CONDITIONS, DEMO, LANGUAGE, LOG, TABLE, parquet
from tests.fuzz.mutations import damaged, mutated
from tests.fuzz.trial import ending

NOT_OF_A_CASE = {"steady-state", "study", "demo", "app", "report", "predict", "fleet", "plan", "track"}


def commands(folder: Path) -> dict[str, tuple[str | bytes, list[str]]]:
    """Name of each trial, content that is changed, words of the command; `x` is the changed file."""
    given, good = str(folder / "x"), str(folder / "good.toml")
    trials: dict[str, tuple[str | bytes, list[str]]]
    trials = {name: (DEMO, [name, given]) for name in COMMANDS if name not in NOT_OF_A_CASE}
    return trials | {
        "predict": (DEMO, ["predict", given, "--blocked", "30"]),
        "report": (DEMO, ["report", given, "-o", str(folder / "out.html")]),
        "fleet": (TABLE, ["fleet", given, "-o", str(folder / "fleet.csv"), "--workers", "1"]),
        "conditions": (CONDITIONS, ["predict", good, "--conditions", given, "-o", str(folder / "out.csv")]),
        "steady-state": (LOG, ["steady-state", given, "--into", good]),
        "track": (LOG, ["track", good, given, "--into", good]),
        "track, Parquet": (parquet(), ["track", good, given, "-o", str(folder / "out.csv")]),
        "steady-state, drawn": (LOG, ["steady-state", given, "-o", str(folder / "out.svg")]),
    }


def one_trial(folder: Path, name: str, rng: random.Random) -> list[str]:
    """Change a file, run one command on it, and say what is wrong with how that ended."""
    content, words = commands(folder)[name]
    (folder / "good.toml").write_text(DEMO, encoding="utf-8")
    changed = damaged(content, rng) if isinstance(content, bytes) else mutated(content, rng)
    (folder / "x").write_bytes(changed)
    end = ending(words, folder)
    for path in folder.glob("out.*"):
        path.unlink()
    return end.problems()


def table_trial(folder: Path, rng: random.Random) -> list[str]:
    """Change a table of visits and read it as the page does."""
    content = mutated(TABLE, rng)
    (folder / "x").write_bytes(content)
    try:
        table = read_visit_table(content, rng.choice(("x.csv", "x.xlsx")))
        visit_entries(table, guessed_keys(table), "US")
    except CaseError:
        return []
    except Exception as problem:  # noqa: BLE001  whatever it is, it is to be kept
        return [f"{type(problem).__name__}: {problem}"]
    return []


def language_trial(folder: Path, rng: random.Random) -> list[str]:
    """Change a language file, read it, and say something with it."""
    (folder / "x.po").write_bytes(mutated(LANGUAGE, rng))
    (folder / "x").write_bytes((folder / "x.po").read_bytes())
    try:
        with in_language(read_language(folder / "x.po")):
            tr("Nearest is {fault}.", fault="none")
            for number in (0, 1, 2, 5, 11, 100, 10**6):
                tr_many("{number} year", "{number} years", number)
    except ValueError:
        return []
    except Exception as problem:  # noqa: BLE001  whatever it is, it is to be kept
        return [f"{type(problem).__name__}: {problem}"]
    return []


OTHER_TRIALS = {"table": table_trial, "language": language_trial}


def main(seconds: float, seed: int) -> int:
    rng = random.Random(seed)
    kept = Path(tempfile.mkdtemp(prefix="coiltoll-fuzz-"))
    trials, bad = Counter[str](), Counter[str]()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        names = [*commands(folder), *OTHER_TRIALS]
        weights = [1 if name in ("report", "steady-state, drawn") else 4 for name in names]
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            chosen = rng.choices(names, weights)[0]
            other = OTHER_TRIALS.get(chosen)
            problems = other(folder, rng) if other else one_trial(folder, chosen, rng)
            trials[chosen] += 1
            if problems:
                bad[chosen] += 1
                number = f"{sum(trials.values()):07d}"
                (kept / f"{number}.input").write_bytes((folder / "x").read_bytes())
                (kept / f"{number}.txt").write_text("\n".join([chosen, *problems]), encoding="utf-8")
    for name in names:
        print(f"{name:16s} {trials[name]:7d} files, {bad[name]} that ended otherwise than they should")
    if not bad:
        kept.rmdir()
    print(f"seed {seed}, {sum(trials.values())} files" + (f"; kept in {kept}" if bad else ""))
    return 1 if bad else 0


if __name__ == "__main__":
    words = sys.argv[1:]
    sys.exit(main(float(words[0]) if words else 300.0, int(words[1]) if words[1:] else 1))
