"""Runs the notebooks of the book and keeps what they print and draw in a folder.

python notebooks.py FOLDER
"""

import sys
from pathlib import Path

import nbformat
from nbclient import NotebookClient

NOTEBOOKS = Path(__file__).resolve().parents[2] / "docs/src/notebooks"
LONGEST_CELL_S = 600


def run(path: Path, folder: Path) -> None:
    """Runs one notebook in a folder of its own; a cell that raises ends the run."""
    notebook = nbformat.read(path, as_version=4)
    nbformat.validate(notebook)
    if any(cell.get("outputs") for cell in notebook.cells):
        raise SystemExit(f"{path.name}: found outputs, expected none: clear them before a commit")
    here = folder / path.stem
    here.mkdir(parents=True, exist_ok=True)
    client = NotebookClient(
        notebook,
        timeout=LONGEST_CELL_S,
        kernel_name="python3",
        resources={"metadata": {"path": str(here)}},
    )
    client.execute()
    nbformat.write(notebook, folder / path.name)
    cells = sum(cell.cell_type == "code" for cell in notebook.cells)
    print(f"{path.name}: {cells} cells")


def main() -> None:
    """Runs all of them."""
    folder = Path(sys.argv[1]).resolve()
    paths = sorted(NOTEBOOKS.glob("*.ipynb"))
    if not paths:
        raise SystemExit(f"{NOTEBOOKS}: no notebooks")
    for path in paths:
        run(path, folder)


main()
