"""The refusal every service raises, a sentence for the person at the screen; and faults."""


class Refusal(Exception):  # noqa: N818 - it is an answer, not a fault
    """Raised when a service will not do what was asked; nothing has been written.

    `field` names the form field the sentence belongs to, or is empty when none is meant.
    """

    def __init__(self, message: str, *, field: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.field = field

    def __str__(self) -> str:
        return self.message


class PdfError(Exception):
    """The HTML asks for a file that a PDF may not or can not contain."""
