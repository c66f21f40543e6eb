"""The error tree. The command line and the dashboard catch only the base."""


class AnalyticsError(Exception):
    """Base of every error a user can cause or fix.

    Attributes
    ----------
    exit_code : int
        What the command line returns: 2 bad use, 3 input refused, 4 store or disk.
    """

    exit_code = 2


class InputError(AnalyticsError, ValueError):
    """An argument that cannot be used, with what would be accepted."""


class CatalogueError(AnalyticsError):
    """A catalogue file that breaks its own rules, with file and entry."""


class FileRefusedError(AnalyticsError):
    """A file that cannot be taken in; nothing of it is stored."""

    exit_code = 3


class NotWrittenError(AnalyticsError):
    """A result that has no place: the disk is full, read-only or not there."""

    exit_code = 4


class ReleaseRefusedError(AnalyticsError):
    """Tables that would, beside former ones, tell of few lifters."""

    exit_code = 3


class StoreError(AnalyticsError):
    """The store is busy, damaged, read-only or of another version."""

    exit_code = 4


class NotAllowedError(AnalyticsError):
    """Who asks may not have or do this; nothing is given and nothing changed."""

    exit_code = 3
