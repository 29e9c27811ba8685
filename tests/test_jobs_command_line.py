"""Each command says how it is used; faults are sentences with the right exit code."""

import json
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from fleetcool.errors import FleetcoolError
from jobs.command_line import main


def commands(group: click.Group, before: tuple[str, ...] = ()) -> list[tuple[str, ...]]:
    found = []
    for name, command in sorted(group.commands.items()):
        path = (*before, name)
        found += commands(command, path) if isinstance(command, click.Group) else [path]
    return found


@pytest.mark.parametrize("path", commands(main), ids=" ".join)
def test_every_command_has_help_with_an_example(path: tuple[str, ...]) -> None:
    result = CliRunner().invoke(main, [*path, "--help"])
    assert result.exit_code == 0
    assert f"Example: fleetcool {' '.join(path)}" in result.output


def test_help_imports_neither_pandas_nor_the_database() -> None:
    import subprocess  # noqa: PLC0415
    import sys  # noqa: PLC0415

    code = (
        "import sys; import jobs.command_line; "
        "print(sorted({'pandas', 'numpy', 'sqlalchemy', 'openpyxl'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_an_empty_fleet_has_an_empty_plan(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("FLEETCOOL_STORE", raising=False)
    for command, key in (("due", "items"), ("plan", "visits"), ("parts", "parts")):
        result = CliRunner().invoke(
            main, ["--as-of", "2026-11-05", command, "--json"], catch_exceptions=False
        )
        assert result.exit_code == 0
        printed = json.loads(result.output)
        assert printed["as_of"] == "2026-11-05"
        assert printed[key] == []


def test_a_week_that_does_not_exist_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(FleetcoolError, match="2026-W60"):
        CliRunner().invoke(main, ["week", "--of", "2026-W60"], catch_exceptions=False)


def test_an_unknown_setting_names_the_nearest_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "fleetcool.toml").write_text("hour_costs = 95\n")
    monkeypatch.chdir(tmp_path)
    with pytest.raises(FleetcoolError, match='"hour_cost"'):
        CliRunner().invoke(main, ["check"], catch_exceptions=False)
