"""Dimensions that make no bore."""


class BoreError(ValueError):
    """A bore that cannot exist: what was found, what is allowed, an example.

    Attributes
    ----------
    key : str
        Dotted key of the dimension inside the bore, such as ``throat.entry``.
    """

    def __init__(self, key: str, message: str) -> None:
        super().__init__(message)
        self.key = key


def millimetres(length: float) -> str:
    """A length in metres as text in millimetres, to the micrometre."""
    return f"{1e3 * length:.6g} mm"
