"""What can be wrong with the numbers: errors for a caller's mistake, reasons for data that cannot answer."""


class ForecastingError(Exception):
    """The base of everything this package raises on purpose."""


class BadTable(ForecastingError):
    """A table at the border lacks a column, has a wrong type, or an empty cell where none may be.

    The message names the table, the column, the first offending row and what would be right.
    """


class TooFewLives(ForecastingError):
    """No law can be given at all; the message says what is missing and what would cure it.

    Few lives or no failures are not an error: the prior then leads and `basis` says so.
    """
