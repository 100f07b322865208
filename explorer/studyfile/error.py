"""The one error that a study file can raise."""


class StudyError(ValueError):
    """Bad input in a study; the message is one or two lines and says what would be right."""

    def __init__(self, message: str, address: str | None = None) -> None:
        super().__init__(message)
        self.address = address
