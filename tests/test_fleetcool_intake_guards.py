"""Files that would harm are refused with a sentence before they are opened."""

import zipfile
from pathlib import Path

import openpyxl
import pytest

from fleetcool.errors import NotUsableError
from fleetcool.intake.files import read_paths
from fleetcool.intake.guards import guard_size, guard_workbook
from fleetcool.model.settings import Settings


def _zip(path: Path, members: dict[str, bytes]) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return path


def test_a_workbook_that_unpacks_to_many_times_its_size_is_refused(tmp_path: Path) -> None:
    bomb = _zip(tmp_path / "bomb.xlsx", {"xl/worksheets/sheet1.xml": b"0" * 30_000_000})
    with pytest.raises(NotUsableError, match=r"bomb\.xlsx: found .* times its size"):
        guard_workbook(bomb, Settings())


def test_a_workbook_with_too_many_pieces_is_refused(tmp_path: Path) -> None:
    many = _zip(tmp_path / "many.xlsx", {f"a{one}": b"" for one in range(2001)})
    with pytest.raises(NotUsableError, match="2001 pieces"):
        guard_workbook(many, Settings())


def test_a_workbook_that_unpacks_too_large_is_refused(tmp_path: Path) -> None:
    big = _zip(tmp_path / "big.xlsx", {"a": bytes(range(256)) * 8192})
    with pytest.raises(NotUsableError, match="unpacks to 2 MB"):
        guard_workbook(big, Settings(unpacked_mb=1))


def test_a_workbook_whose_inside_declares_entities_is_refused(tmp_path: Path) -> None:
    good = tmp_path / "good.xlsx"
    openpyxl.Workbook().save(good)
    bad = tmp_path / "bad.xlsx"
    bomb = b'<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "bbbb"><!ENTITY c "&b;&b;">]><a>&c;</a>'
    with zipfile.ZipFile(good) as source, zipfile.ZipFile(bad, "w") as target:
        for member in source.infolist():
            inside = bomb if "sheet1" in member.filename else source.read(member)
            target.writestr(member.filename, inside)
    with pytest.raises(NotUsableError, match="declares entities"):
        read_paths([bad], Settings())


def test_a_file_above_the_size_of_the_settings_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "long.csv"
    file.write_bytes(b"unit,on\n" * 200_000)
    with pytest.raises(NotUsableError, match=r"a file of 1\.5 MB, expected at most 1 MB"):
        guard_size(file, Settings(upload_mb=1))


def test_a_file_that_is_no_workbook_is_refused_with_a_next_step(tmp_path: Path) -> None:
    file = tmp_path / "fake.xlsx"
    file.write_text("just text")
    with pytest.raises(NotUsableError, match="save it again"):
        read_paths([file], Settings())
