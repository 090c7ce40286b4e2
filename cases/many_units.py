# %% [markdown]
# # The packages as a library: many units, and which of them first
#
# Run it whole (`python cases/many_units.py`) or cell by cell in an editor that knows `# %%` cells. The fleet
# is invented here: names, sites and every reading.

# %%
from pathlib import Path
from tempfile import TemporaryDirectory

from calibration import fleet_of, ranked, run_fleet
from calibration.studies.invented_fleet import invented_fleet, table_of


def main() -> None:
    """One table with a row a visit, worked out, ranked."""
    with TemporaryDirectory() as folder:
        source = Path(folder) / "visits.csv"
        source.write_text(table_of(invented_fleet(3, seed=7)), encoding="utf-8")

        # %% [markdown]
        # ## Every unit's finding, cost, advice and next reading
        # Run again on the same table, only what is missing or has changed is worked out.
        run = run_fleet(fleet_of([source]), Path(folder) / "results.csv", workers=1)
        print(f"{run.units} units, {run.worked_out} worked out, {len(run.left_out)} rows left out")

        # %% [markdown]
        # ## Which first
        for row in ranked(run.rows, "money"):
            print(
                f"  {row['unit']:24s} {row['verdict'] or '-':16s} {row['advice'] or '-':22s} {row['problem']}"
            )


# Processes of this machine are started from here, so the work must not begin when the file is only read.
if __name__ == "__main__":
    main()
