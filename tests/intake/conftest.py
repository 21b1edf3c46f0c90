"""A roster folder of two athletes, written from a dictionary of files."""

import json
from datetime import date

import pytest

from analytics.intake import read_folder


@pytest.fixture
def read(tmp_path_factory):
    """read(files, as_of=..., defaults...): the intake of a fresh folder with these files, by name."""

    def reader(files, as_of=date(2026, 11, 22), **defaults):
        path = tmp_path_factory.mktemp("roster")
        lines = ['[roster]\ntitle = "Harbour group"', "[defaults]"]
        lines += [f"{key} = {json.dumps(value)}" for key, value in defaults.items()]
        lines += ['[[athlete]]\nid = "tern"\nname = "Tern"\n[[athlete]]\nid = "gull"\nname = "Gull"']
        (path / "roster.toml").write_text("\n".join(lines), encoding="utf-8")
        for name, content in files.items():
            target = path / name
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(content if isinstance(content, bytes) else content.encode())
        return read_folder(path, as_of)

    return reader
