"""How large a table may be: enough for any catalog, little enough that no file can exhaust the machine."""

from __future__ import annotations

#: Bytes of a CSV file.
CSV_BYTES = 10_000_000
#: Bytes of a workbook as it lies on the disk, and of all its parts unpacked.
WORKBOOK_BYTES = 20_000_000
UNPACKED_BYTES = 150_000_000
#: How many times larger a part of a workbook may be unpacked; small parts are let be.
RATIO = 200
RATIO_FROM_BYTES = 1_000_000
#: Parts of a workbook (files in it).
PARTS = 500
SHEETS = 40
ROWS = 20_000
COLUMNS = 500
#: Cells of all sheets, empty ones between filled ones counted.
CELLS = 2_000_000
#: Characters of one cell; no spreadsheet programme allows more.
CELL_TEXT = 32_767
