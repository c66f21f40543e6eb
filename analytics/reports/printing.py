"""The printed page: HTML to PDF without a browser, and without asking anybody."""

from analytics.errors import InputError

# Text takes what it needs of the pages, and pictures share the rest.
PICTURES_MM = {"figure svg": 56, "figure.tall svg": 118, "figure.low svg": 42}
SCALES = (1.0, 0.85, 0.7, 0.55, 0.4)


def pdf_of(page: str, *, most_pages: int) -> bytes:
    """Print a page, its pictures as large as its sheets of paper allow.

    Parameters
    ----------
    page : str
        HTML that stands on its own: nothing it names is fetched.
    most_pages : int
        Sheets it may take.

    Returns
    -------
    content : bytes
        PDF.

    Raises
    ------
    InputError
        If the machine lacks the library that sets the type.
    """
    try:
        from weasyprint import CSS, HTML
        from weasyprint.urls import URLFetcher
    except OSError as error:
        raise InputError(
            f"a PDF needs the library Pango ({error}); install it (Debian: apt-get "
            "install libpangoft2-1.0-0 libharfbuzz-subset0), or write the report as "
            ".html and print it from any browser"
        ) from error
    nobody = URLFetcher(allowed_protocols=())
    for scale in SCALES:
        sizes = "".join(
            f"{name} {{max-height: {height * scale:.0f}mm !important}}"
            for name, height in PICTURES_MM.items()
        )
        paper = CSS(string=sizes, url_fetcher=nobody)
        printed = HTML(string=page, url_fetcher=nobody).render(stylesheets=[paper])
        if len(printed.pages) <= most_pages:
            break
    return bytes(printed.write_pdf())
