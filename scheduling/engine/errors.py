"""The refusals of the engine: what it can't work with, said to the user."""


class EngineError(ValueError):
    """Raised for input the engine can't work with; the message is a sentence for the user.

    `field` names the value that is wrong, where one is.
    """

    def __init__(self, message: str, *, field: str = "") -> None:
        super().__init__(message)
        self.field = field
