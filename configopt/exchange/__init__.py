"""The spreadsheet doors: catalogs to CSV and XLSX and back, with nothing lost on the way."""
