import pytest

from analytics.evidence import muscle_worlds
from analytics.evidence.muscle_worlds import judge_worlds


@pytest.mark.slow
def test_every_method_keeps_its_own_figures(catalogue, monkeypatch):
    monkeypatch.setattr(muscle_worlds, "WORLDS", {"default": muscle_worlds.WORLDS["default"]})
    monkeypatch.setattr(muscle_worlds, "UNLIKE", {"templates": muscle_worlds.UNLIKE["templates"]})
    table = judge_worlds(40, 30, 5, catalogue)
    assert table["world"].to_list() == ["default", "templates"]
    # Sets say nothing in a world whose groups all get the same kind of work; slopes do.
    told = table.row(1, named=True)
    assert told["ours_auc"] > told["sets_auc"]
    assert told["slope_auc"] > told["sets_auc"]
    assert (table["ours_named"] == table["sets_named"]).all()
