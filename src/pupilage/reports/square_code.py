"""An address as a square code that another phone's camera reads."""


def square_code(address: str) -> str:
    """Return a QR code as a `data:` address of an SVG, dark on light in every scheme, since cameras want it so."""
    import segno  # only asked for when a link is made

    return segno.make(address, error="m", micro=False).svg_data_uri(scale=5, border=4, dark="#000", light="#fff")
