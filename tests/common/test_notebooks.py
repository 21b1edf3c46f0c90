import ast
from pathlib import Path

import nbformat
import papermill
import pytest

NOTEBOOKS = sorted((Path(__file__).parents[2] / "notebooks").glob("*.ipynb"))


def read(path):
    return nbformat.read(path, as_version=4)


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda p: p.stem)
def test_a_notebook_is_bare_and_has_one_cell_of_parameters(path):
    cells = [cell for cell in read(path).cells if cell.cell_type == "code"]
    assert all(cell.outputs == [] and cell.execution_count is None for cell in cells)
    assert sum("parameters" in cell.metadata.get("tags", []) for cell in cells) == 1


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda p: p.stem)
def test_notebooks_show_and_modules_compute(path):
    for cell in read(path).cells:
        if cell.cell_type == "code":
            kinds = {type(node) for node in ast.walk(ast.parse(cell.source))}
            assert not kinds & {ast.FunctionDef, ast.ClassDef, ast.For, ast.While, ast.Lambda}, cell.source


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::UserWarning")
def test_the_evidence_can_be_run_again_by_anyone(tmp_path):
    path = next(path for path in NOTEBOOKS if path.stem == "method")
    small = {"athletes": 6, "weeks": 30, "seed": 3}
    told = {
        parameter: small[parameter] for parameter in papermill.inspect_notebook(path) if parameter in small
    }
    done = papermill.execute_notebook(path, tmp_path / "method.ipynb", told, progress_bar=False)
    assert all(cell.execution_count for cell in done.cells if cell.cell_type == "code")
