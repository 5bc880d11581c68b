"""Which process of a server holds a connection, as Linux tells it under `/proc`."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from pathlib import Path

_PROC = Path("/proc")
_LISTENING = "0A"
_ESTABLISHED = "01"


def _sockets() -> Iterator[tuple[int, int, str, str]]:
    """Every TCP socket of IPv4: its own port, the other end's, its state, its inode."""
    for line in (_PROC / "net" / "tcp").read_text(encoding="ascii").splitlines()[1:]:
        fields = line.split()
        own, other = (int(address.rpartition(":")[2], 16) for address in fields[1:3])
        yield own, other, fields[3], fields[9]


def _holds(pid: int, inode: str) -> bool:
    wanted = f"socket:[{inode}]"
    with contextlib.suppress(OSError):
        for entry in (_PROC / str(pid) / "fd").iterdir():
            with contextlib.suppress(OSError):
                if str(entry.readlink()) == wanted:
                    return True
    return False


def servers_on(port: int) -> tuple[int, ...]:
    """The processes that listen on a port of this machine: a server's first one and its workers."""
    inodes = [inode for own, _, state, inode in _sockets() if own == port and state == _LISTENING]
    pids = [int(entry.name) for entry in _PROC.iterdir() if entry.name.isdecimal()]
    return tuple(pid for pid in pids if any(_holds(pid, inode) for inode in inodes))


def worker_behind(server_port: int, client_port: int, pids: tuple[int, ...]) -> int | None:
    """Which of these processes holds the server's end of a connection; None where it cannot be told."""
    for own, other, state, inode in _sockets():
        if (own, other, state) == (server_port, client_port, _ESTABLISHED):
            return next((pid for pid in pids if _holds(pid, inode)), None)
    return None


def peak_memory_of(pid: int) -> float:
    """The most memory that a process ever had resident, in MiB."""
    status = (_PROC / str(pid) / "status").read_text(encoding="ascii")
    line = next(line for line in status.splitlines() if line.startswith("VmHWM"))
    return int(line.split()[1]) / 1024
