"""Tables of the method pages whose figures a test compares with what the program prints."""

from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]


def printed_rows(page: str, name: str) -> dict[str, list[str]]:
    """Cells of a marked table by the first cell of each row, the heading left out."""
    text = (ROOT / page).read_text("utf-8").split(f"<!-- {name} -->")[1].split("<!-- end -->")[0]
    rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in text.split("\n") if "|" in line]
    return {cells[0]: cells[1:] for cells in rows[2:]}
