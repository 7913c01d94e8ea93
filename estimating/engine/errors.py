"""The refusals of the engine: bad input, named by the field it stands in."""


class EngineError(ValueError):
    """Raised for input the engine can't work with; the message is a sentence for the user.

    `field` is the path of the offending value in the document, such as
    `lines[0].legs[1].length_in`, or empty when the whole document is meant.
    """

    def __init__(self, message: str, *, field: str = "") -> None:
        super().__init__(message)
        self.field = field
