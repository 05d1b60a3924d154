"""Every error a person can meet: whose fault it is, what happened, and what to do about it.

| exit code | class | whose fault |
|---|---|---|
| 1 | SnapglossError | ours: a fault in this program |
| 2 | InputError | yours: something typed, or a file |
| 3 | RigError | the rig's: it refused or stopped |
| 4 | LinkError | the cable's or the port's |
| 4 | CableOut | the cable's: it is out |
| 5 | StoreError | the data folder's |
| 5 | StoreDamaged | the disk's, most likely |
| 5 | StoreBusy | another program's or a server's, for the moment |
| 6 | VersionError | nobody's: two sides of different age |
"""


class SnapglossError(Exception):
    """Base of the tree; raised itself only for a fault in this program.

    `message` is one sentence that names what was read and where; `remedy` is one sentence that
    says what to do, or empty where nothing helps. `str()` of the error is both, in that order.
    `exit_code` is what the command line ends with.
    """

    exit_code = 1

    def __init__(self, message: str, remedy: str = "") -> None:
        super().__init__(message, remedy)
        self.message = message
        self.remedy = remedy

    def __str__(self) -> str:
        return f"{self.message} {self.remedy}".strip()


class InputError(SnapglossError):
    """Yours: an option, a value or a file cannot be used as it is.

    Examples: a temperature without its unit; a schedule whose work step is above the cap; a
    room too warm for the method.
    """

    exit_code = 2


class RigError(SnapglossError):
    """The rig refused a request, or stopped.

    Examples: an upload while the rig is heating; "stopped: probe out of the bowl".
    """

    exit_code = 3


class LinkError(SnapglossError):
    """The cable or the port.

    Examples: no such port; the port is held by another program; the cable was pulled.
    """

    exit_code = 4


class CableOut(LinkError):
    """The port is not there, or not any more; plugged in again it may be.

    Examples: the cable was pulled; the rig was not plugged in yet.
    """


class StoreError(SnapglossError):
    """The data folder or the database in it.

    Examples: no right to write there; the disk is full; the database is damaged.
    """

    exit_code = 5


class StoreBusy(StoreError):
    """Another program writes into the record and did not let go in time; it may yet.

    Examples: a copy of the data folder is being made; a database server is started anew.
    """


class StoreDamaged(StoreError):
    """A record's content cannot be what was written.

    Example: pages of the file were overwritten, or it was cut short.
    """


class VersionError(SnapglossError):
    """Two sides are of different age; `remedy` says which one to update.

    Examples: the rig speaks another major version of the wire; the data folder is from a newer
    version of this program.
    """

    exit_code = 6
