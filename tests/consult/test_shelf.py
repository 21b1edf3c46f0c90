from analytics.consult import shelf


def test_a_shelf_gives_back_one_athletes_rows(demo_tables, tmp_path):
    shelf.put(demo_tables, tmp_path)
    people = demo_tables["athlete"].sort("name", "athlete").select("name", "athlete").rows()
    assert shelf.athletes(tmp_path) == people
    for _, athlete in people:
        report = shelf.report(tmp_path, athlete)
        for name, frame in report.tables.items():
            assert set(frame["athlete"]) <= {athlete}
            assert frame.height == demo_tables[name].filter(athlete=athlete).height
