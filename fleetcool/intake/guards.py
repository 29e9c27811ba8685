"""Whether a file is safe to open: its size, what its zip would unpack to, what its XML declares."""

import zipfile
from pathlib import Path

from fleetcool.errors import NotUsableError
from fleetcool.model.settings import Settings

MOST_MEMBERS = 2000
MOST_RATIO = 200.0
_MEGABYTE = 1024 * 1024
_SMALL = _MEGABYTE  # below this a high ratio harms nobody
_HEAD = 4096


def guard_size(path: Path, settings: Settings) -> None:
    """Refuse a file larger than the settings allow.

    Raises:
        NotUsableError: the file is too large.
    """
    size = path.stat().st_size
    if size > settings.upload_mb * _MEGABYTE:
        raise NotUsableError(
            path.name,
            f"a file of {size / _MEGABYTE:.1f} MB",
            f"at most {settings.upload_mb} MB",
            "split it into several files, or raise upload_mb in fleetcool.toml",
        )


def guard_workbook(path: Path, settings: Settings) -> None:
    """Refuse a workbook whose zip would unpack to more than is sound, or that declares entities.

    Raises:
        NotUsableError: it is no zip, has too many members, unpacks too large or too far, or its
            XML declares a document type.
    """
    guard_size(path, settings)
    try:
        with zipfile.ZipFile(path) as archive:
            members = archive.infolist()
            _guard_members(path, members, settings)
            for member in members:
                if member.filename.lower().endswith((".xml", ".rels")):
                    _guard_declarations(path, archive, member)
    except (zipfile.BadZipFile, OSError, RuntimeError, NotImplementedError, EOFError):
        raise not_a_workbook(path) from None


def not_a_workbook(path: Path) -> NotUsableError:
    """Return the sentence for a file that cannot be opened as a workbook."""
    return NotUsableError(
        path.name,
        "a file that cannot be opened as a workbook (damaged, or locked with a password)",
        "an .xlsx, .xlsm or .ods workbook without a password",
        "open it in a spreadsheet program and save it again",
    )


def _guard_members(path: Path, members: list[zipfile.ZipInfo], settings: Settings) -> None:
    unpacked = sum(member.file_size for member in members)
    packed = sum(member.compress_size for member in members)
    faults = (
        (len(members) > MOST_MEMBERS, f"{len(members)} pieces", f"at most {MOST_MEMBERS}"),
        (
            unpacked > settings.unpacked_mb * _MEGABYTE,
            f"a workbook that unpacks to {unpacked / _MEGABYTE:.0f} MB",
            f"at most {settings.unpacked_mb} MB",
        ),
        (
            unpacked > _SMALL and unpacked > MOST_RATIO * max(packed, 1),
            f"a workbook that unpacks to {unpacked / max(packed, 1):.0f} times its size",
            f"at most {MOST_RATIO:.0f} times",
        ),
    )
    for wrong, found, expected in faults:
        if wrong:
            raise NotUsableError(
                path.name, found, expected, "save only the sheets with tables in a new workbook"
            )


def _guard_declarations(path: Path, archive: zipfile.ZipFile, member: zipfile.ZipInfo) -> None:
    with archive.open(member) as stream:
        head = stream.read(_HEAD).replace(b"\0", b"").upper()
    if b"<!DOCTYPE" in head or b"<!ENTITY" in head:
        raise NotUsableError(
            path.name,
            "a workbook whose inside declares entities",
            "a workbook as spreadsheet programs save it",
            "open it in a spreadsheet program and save it again",
        )
