"""Between firmware and port: who is attached, and what could not be handed over yet."""

from snapgloss.virtual.port import RigPort

_MOST_BEHIND_BYTES = 1 << 16


class Cable:
    """Bytes each way. A host counts as attached once it has sent something.

    Until then, and after a host was found dead, what it does not take is dropped, as it is on USB
    when nobody has the port open. For an attached host it is kept, and the firmware is told
    that there is no room.
    """

    def __init__(self, port: RigPort) -> None:
        self._port = port
        self._behind = b""
        self.attached = False
        self.visits = 0
        """How often a host came."""

    @property
    def url(self) -> str:
        """What a host opens."""
        return self._port.url

    def take_in(self, most: int) -> bytes:
        """Up to `most` bytes from the host."""
        data = self._port.read(most)
        if data:
            self.visits += not self.attached
            self.attached = True
        return data

    def give_out(self, data: bytes) -> None:
        """Send `data` after what is still behind."""
        data = self._behind + data
        if data:
            taken = self._port.write(data)
            self._behind = data[taken:][-_MOST_BEHIND_BYTES:] if self.attached else b""

    def room(self, most: int) -> int:
        """How many bytes the firmware may write now."""
        return 0 if self._behind else most

    def unread(self) -> int:
        """Bytes an attached host has still to read."""
        if self._behind:
            self.give_out(b"")
        return self._port.unread() + len(self._behind) if self.attached else 0

    def host_is_gone(self) -> None:
        """Forget the host until bytes arrive again."""
        self.attached = False
        self._behind = b""

    def close(self) -> None:
        """Close the port."""
        self._port.close()
