"""The decision sheet that is handed over: its contents, drawings, charts, bill of materials and page."""
