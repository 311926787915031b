"""SVG files made fit to stand inside an HTML page, several on one page."""

import html
import re


def inline_svg(text: str, name: str, alt: str) -> str:
    """Strip what only a file needs, keep identifiers apart, and add the alternative text.

    Parameters
    ----------
    text : str
        A whole SVG file as matplotlib writes it.
    name : str
        Put before every identifier; unique on the page.
    alt : str
        What the picture shows, for readers who do not see it.

    Returns
    -------
    str
        An `<svg>` element without declarations, metadata or addresses.
    """
    body = text[text.index("<svg") :]
    body = re.sub(r"<metadata>.*?</metadata>", "", body, flags=re.DOTALL)
    body = re.sub(r'\sxmlns(?::\w+)?="[^"]*"', "", body)
    body = re.sub(r'(\sid=")', rf"\g<1>{name}-", body)
    body = re.sub(r"(url\(#)", rf"\g<1>{name}-", body)
    body = re.sub(r'(href="#)', rf"\g<1>{name}-", body)
    # matplotlib's style sheet is meant for the file alone, not for the page around it.
    body = body.replace("*{stroke", f"#{name} *{{stroke")
    opening = body[: body.index(">")]
    size = re.sub(r'\s(?:width|height|version)="[^"]*"', "", opening)
    label = html.escape(alt, quote=True)
    return f'{size} id="{name}" role="img" aria-label="{label}"{body[len(opening) :]}'.strip()
