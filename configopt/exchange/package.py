"""A workbook as the archive it is: looked over before anything in it is opened, and packed the same every time.

No part may be a macro, a link to another file or an XML text with a document type: entities, the means of attacks by
expansion, cannot stand without one.  So the parser behind needs no further guard.
"""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager

from configopt.errors import Finding, FindingsError
from configopt.exchange import limits

#: What every part is dated, so that the same workbook has the same bytes.
_DATE = (1980, 1, 1, 0, 0, 0)
_OLD_FORMAT = bytes.fromhex("d0cf11e0a1b11ae1")
_DOCTYPE = re.compile(rb"<!\s*(?:DOCTYPE|ENTITY)", re.IGNORECASE)
_DECLARED = re.compile(rb"""<\?xml[^>]*?encoding\s*=\s*["']([^"']*)["']""")
_MODIFIED = re.compile(rb"(<dcterms:modified[^>]*>)[^<]*(</dcterms:modified>)")
_FORBIDDEN = (
    ("vbaproject", "macros", "save it as .xlsx, which holds none"),
    ("xl/externallinks/", "links to other files", "break the links, or copy the cells into a new workbook as values"),
    ("xl/embeddings/", "embedded files", "remove them"),
    ("xl/activex/", "controls that run programs", "remove them"),
)


def require_harmless(raw: bytes, path: str) -> None:
    """Refuse an archive that is too large, packed too densely, or holds what a catalog has no use for.

    Raises
    ------
    FindingsError
        With what was found; nothing of the archive has been interpreted then.
    """
    if len(raw) > limits.WORKBOOK_BYTES:
        raise _refused(path, "SHEET-LIMIT", f"a workbook has at most {limits.WORKBOOK_BYTES:,} bytes", "split it")
    if raw.startswith(_OLD_FORMAT):
        message = "the workbook is of an old kind (.xls) or protected by a password"
        raise _refused(path, "SHEET-FILE", message, "save it as .xlsx without a password")
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as archive:
            _look_over(archive, path)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, ValueError, OSError) as error:
        message = f"the file is no workbook, or damaged: {str(error)[:100]}"
        raise _refused(path, "SHEET-FILE", message, "save it anew as .xlsx") from None


def _look_over(archive: zipfile.ZipFile, path: str) -> None:
    parts = archive.infolist()
    if len(parts) > limits.PARTS:
        raise _refused(path, "SHEET-LIMIT", f"a workbook has at most {limits.PARTS} parts, this one has {len(parts)}")
    if sum(part.file_size for part in parts) > limits.UNPACKED_BYTES:
        message = f"unpacked, a workbook has at most {limits.UNPACKED_BYTES:,} bytes, this one has more"
        raise _refused(path, "SHEET-LIMIT", message, "split it")
    names = [part.filename for part in parts]
    if len(set(names)) < len(names):
        raise _refused(path, "SHEET-FILE", "the workbook holds the same part twice", "save it anew as .xlsx")
    for part in parts:
        if part.flag_bits & 0x1:
            raise _refused(path, "SHEET-FILE", "the workbook is encrypted", "save it without a password")
        if part.file_size > limits.RATIO_FROM_BYTES and part.file_size > limits.RATIO * max(part.compress_size, 1):
            message = f"{part.filename[:60]} is packed more than {limits.RATIO} times"
            raise _refused(path, "SHEET-LIMIT", message, "copy the filled cells into a new workbook")
        for marker, what, fix in _FORBIDDEN:
            if marker in part.filename.lower():
                raise _refused(path, "SHEET-FILE", f"the workbook holds {what}", fix)
    if "[Content_Types].xml" not in names or not any(name.startswith("xl/") for name in names):
        raise _refused(path, "SHEET-FILE", "the file is an archive, but no workbook", "save it as .xlsx")
    for part in parts:
        if part.filename.lower().endswith((".xml", ".rels", ".vml")):
            _look_into(archive.read(part), part.filename, path)


def _look_into(content: bytes, name: str, path: str) -> None:
    declared = _DECLARED.search(content[:200])
    # In another encoding the search for a document type would look at other letters than the parser.
    if b"\0" in content or (declared and declared[1].lower() not in (b"utf-8", b"us-ascii")):
        raise _refused(path, "SHEET-FILE", f"{name[:60]} is not UTF-8", "save it anew as .xlsx")
    if _DOCTYPE.search(content):
        message = f"{name[:60]} declares a document type or entities"
        raise _refused(path, "SHEET-FILE", message, "save it anew as .xlsx")


def _refused(path: str, rule: str, message: str, fix: str = "") -> FindingsError:
    return FindingsError([Finding(path, 0, 0, rule, "error", message, fix)])


@contextmanager
def new_archive(out: io.BytesIO) -> Iterator[zipfile.ZipFile]:
    """An archive to be filled; what is half written when it is given up (Ctrl-C) goes without a word."""
    archive = zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED)
    try:
        yield archive
    except BaseException:
        # Without its file it counts as closed: closing it with a part half written would fail once more, be it at its
        # end of life, where nobody can catch that.
        archive.fp = None
        raise
    archive.close()


def packed_alike(raw: bytes, date: str) -> bytes:
    """The same workbook with fixed dates in the archive and in its properties.

    Parameters
    ----------
    raw
        The workbook.
    date
        The date of its last change, as ``1980-01-01T00:00:00Z``.
    """
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(raw)) as archive, new_archive(out) as alike:
        for part in archive.infolist():
            content = archive.read(part)
            if part.filename == "docProps/core.xml":
                content = _MODIFIED.sub(rb"\g<1>" + date.encode() + rb"\g<2>", content)
            new = zipfile.ZipInfo(part.filename, _DATE)
            new.compress_type = zipfile.ZIP_DEFLATED
            new.external_attr = 0o600 << 16
            new.create_system = 3  # else the byte depends on the system that writes
            alike.writestr(new, content)
    return out.getvalue()
