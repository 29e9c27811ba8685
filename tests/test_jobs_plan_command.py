"""`fleetcool plan --with …` as it is typed: a request that cannot be read opens no store."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from fleetcool.errors import FleetcoolError
from jobs.command_line import main


def test_a_variant_that_cannot_be_read_is_refused_before_a_store_is_made(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(FleetcoolError, match='found "many"'):
        CliRunner().invoke(main, ["plan", "--with", "hours=many@NORTH"], catch_exceptions=False)
    assert list(tmp_path.iterdir()) == []


def test_help_shows_how_a_variant_is_written() -> None:
    said = " ".join(CliRunner().invoke(main, ["plan", "--help"]).output.split())
    assert "Example: fleetcool plan --weeks 4 --with hours=+8@NORTH" in said
    assert "closed=2026-11-26@NORTH" in said
