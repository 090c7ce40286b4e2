"""Many units: tables and folders of them, a row of results for each, and what the rows say together."""
