"""Runs the notebooks of the book and keeps what they print and draw in a folder.

One that takes recordings of the reader's own is run a second time with one of ours, of which the
truth is not known.

python notebooks.py FOLDER
"""

import sys
from pathlib import Path

import nbformat
from nbclient import NotebookClient

ROOT = Path(__file__).resolve().parents[2]
NOTEBOOKS = ROOT / "docs/src/notebooks"
LONGEST_CELL_S = 600
# What a reader changes, and into what.
NO_OWN = "own = []"
OWN = f"own = [{str(ROOT / 'recordings/demo-flight.csv')!r}]"


def run(path: Path, folder: Path, has_own: bool = False) -> bool:
    """Runs one notebook in a folder of its own; a cell that raises ends the run.

    Args:
        path: The notebook.
        folder: Where to run it and to keep it.
        has_own: Whether a recording is put in as a reader would.

    Returns:
        Whether it takes recordings of the reader's own.
    """
    notebook = nbformat.read(path, as_version=4)
    nbformat.validate(notebook)
    takes_own = any(NO_OWN in cell.source for cell in notebook.cells)
    if has_own:
        for cell in notebook.cells:
            cell.source = cell.source.replace(NO_OWN, OWN)
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
    print(f"{path.name}: {cells} cells{', with an own recording' if has_own else ''}")
    return takes_own


def main() -> None:
    """Runs all of them."""
    folder = Path(sys.argv[1]).resolve()
    paths = sorted(NOTEBOOKS.glob("*.ipynb"))
    if not paths:
        raise SystemExit(f"{NOTEBOOKS}: no notebooks")
    own = [path for path in paths if run(path, folder)]
    if not own:
        raise SystemExit(f'{NOTEBOOKS}: no notebook has "{NO_OWN}"')
    for path in own:
        run(path, folder / "own", has_own=True)


main()
