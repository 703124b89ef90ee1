"""Charts made fit for a page: no head, ids that are unique on the page, colours that follow the page's."""

from __future__ import annotations

import re
from xml.sax.saxutils import escape

from configopt.sheet.charts import INK, QUIET, STRONG

#: Colours of the charts and the page's names for them.
_COLOURS = {INK: "--ink", STRONG: "--strong", QUIET: "--quiet", "#ffffff": "--paper", "#000000": "--ink"}


def inline_chart(svg: str, *, name: str, title: str, description: str) -> str:
    """A chart for the inside of a page.

    Parameters
    ----------
    svg : text of the chart
    name : beginning of its ids
    title, description : read aloud in its place
    """
    body = svg[svg.index("<svg") :]
    body = re.sub(r"<metadata>.*?</metadata>", "", body, flags=re.DOTALL)
    # The style of a chart would hold for the whole page.
    body = re.sub(r"<defs>\s*<style[^>]*>.*?</style>\s*</defs>", "", body, flags=re.DOTALL)
    body = re.sub(r"<title>.*?</title>", "", body, flags=re.DOTALL)
    body = re.sub(r'\bid="([^"]+)"', rf'id="{name}-\1"', body)
    body = re.sub(r'(xlink:href|href)="#([^"]+)"', rf'\1="#{name}-\2"', body)
    body = re.sub(r"url\(#([^)]+)\)", rf"url(#{name}-\1)", body)
    for colour, variable in _COLOURS.items():
        body = body.replace(colour, f"var({variable})")
    head, rest = body.split(">", 1)
    size = re.search(r'viewBox="0 0 ([\d.]+) [\d.]+"', head)
    assert size is not None
    names = f"{name}-title {name}-description"
    opened = f'<svg class="chart" role="img" aria-labelledby="{names}" width="{size[1]}pt" {size[0]}'
    opened += ' xmlns:xlink="http://www.w3.org/1999/xlink">'
    told = f'<title id="{name}-title">{escape(title)}</title><desc id="{name}-description">{escape(description)}</desc>'
    return f"{opened}{told}{rest}".strip()
